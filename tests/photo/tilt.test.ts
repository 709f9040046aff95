import { describe, expect, test } from 'vitest';
import { cameraTilt, upInCamera } from '@/lib/photo/ground/tilt';
import { expectClose } from '../support/close';

/**
 * Poses from W3C Device Orientation and Motion, section "deviceorientation": flat on a table all angles are 0; upright
 * beta is 90.
 */
describe('how a phone is held', () => {
  test('flat on a table, screen up, its rear camera looks straight down and no lean can be told', () => {
    expect(cameraTilt(0, 0, 0)).toEqual({ rollDeg: null, pitchDeg: -90 });
  });

  test('upright it looks at the horizon; with the top leaned forward it looks down', () => {
    expect(cameraTilt(90, 0, 0).pitchDeg).toBeCloseTo(0, 9);
    expect(cameraTilt(90, 0, 0).rollDeg).toBeCloseTo(0, 9);
    // From flat (looking straight down) to upright (looking at the horizon) beta is all that changes.
    for (const beta of [10, 45, 70])
      expectClose(`pitch at beta ${beta}`, cameraTilt(beta, 0, 0).pitchDeg, beta - 90, 1e-9);
  });

  test('on its side, with the screen turned along, the picture is level', () => {
    // Left side down (turned counter-clockwise by 90 degrees): up lies along the phone's x axis, gamma -90; the
    // screen's angle is 90.
    expectClose('roll', cameraTilt(0, -90, 90).rollDeg, 0, 1e-9);
    expectClose('pitch', cameraTilt(0, -90, 90).pitchDeg, 0, 1e-9);
    expectClose('other side', cameraTilt(0, 90, 270).rollDeg, 0, 1e-9);
  });

  test('up in the camera’s axes is the W3C rotation’s last row, turned into x right, y down, z away', () => {
    for (const [beta, gamma, screen] of [
      [70, 0, 0],
      [62, 11, 0],
      [4, -75, 90],
      [55, -8, 0],
      [8, 66, 270],
    ] as const) {
      const [b, g, s] = [beta, gamma, screen].map((angle) => (angle * Math.PI) / 180) as [number, number, number];
      const [x, y, z] = [-Math.cos(b) * Math.sin(g), Math.sin(b), Math.cos(b) * Math.cos(g)];
      const up = upInCamera(cameraTilt(beta, gamma, screen));
      expectClose('right', up![0], x * Math.cos(s) - y * Math.sin(s), 1e-9);
      expectClose('down', up![1], -(y * Math.cos(s) + x * Math.sin(s)), 1e-9);
      expectClose('away', up![2], -z, 1e-9);
    }
    expect(upInCamera({ pitchDeg: -30, rollDeg: null })).toBeNull();
    expectClose('straight down', upInCamera(cameraTilt(0, 0, 0))![2], -1, 1e-9);
  });

  test('a quarter turn clockwise without the screen following is a lean of 90 degrees clockwise', () => {
    // Turned clockwise as who looks at the screen sees it, the phone's right side (its x axis) points down.
    expectClose('roll', cameraTilt(0, 90, 0).rollDeg, 90, 1e-9);
    expectClose('roll', cameraTilt(0, -90, 0).rollDeg, -90, 1e-9);
  });
});
