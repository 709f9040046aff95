'use client';
import { useEffect, useState, useSyncExternalStore } from 'react';
import { cameraTilt, type Tilt } from '@/lib/photo/ground/tilt';

type AskingOrientation = { requestPermission?: () => Promise<'granted' | 'denied'> };

/** Some phones give their orientation only after a tap that asks for it. */
const asks = () =>
  typeof (globalThis.DeviceOrientationEvent as AskingOrientation | undefined)?.requestPermission === 'function';
const never = () => () => undefined;

/**
 * Lean of the phone as a line and as words, where the phone tells it. Each reading is handed on, so that a shot can
 * keep its own.
 */
export function Level({ onTilt }: { onTilt: (tilt: Tilt) => void }) {
  const [tilt, setTilt] = useState<Tilt | null>(null);
  const mustAsk = useSyncExternalStore(never, asks, () => false);
  const [answer, setAnswer] = useState<'granted' | 'denied' | null>(null);
  const listening = !mustAsk || answer === 'granted';
  useEffect(() => {
    if (!listening) return;
    const turned = ({ beta, gamma }: DeviceOrientationEvent) => {
      if (beta === null || gamma === null) return;
      const now = cameraTilt(beta, gamma, screen.orientation?.angle ?? 0);
      setTilt(now);
      onTilt(now);
    };
    window.addEventListener('deviceorientation', turned);
    return () => window.removeEventListener('deviceorientation', turned);
  }, [listening, onTilt]);

  if (mustAsk && answer === null) {
    return (
      <button
        type="button"
        onClick={() =>
          void (globalThis.DeviceOrientationEvent as AskingOrientation).requestPermission?.().then(setAnswer)
        }
      >
        Show the level and keep it with each shot
      </button>
    );
  }
  if (!tilt || tilt.rollDeg === null) return null;
  const roll = Math.round(tilt.rollDeg);
  const level = Math.abs(roll) <= 1;
  return (
    <>
      <div
        className="capture-level"
        aria-hidden
        style={{ transform: `rotate(${-tilt.rollDeg}deg)`, opacity: level ? 1 : 0.75 }}
      />
      <span className={`capture-say${level ? ' capture-good' : ''}`}>
        {level ? 'level' : `${Math.abs(roll)}° ${roll > 0 ? 'clockwise' : 'anticlockwise'}`}, looking{' '}
        {Math.abs(Math.round(tilt.pitchDeg))}° {tilt.pitchDeg < 0 ? 'down' : 'up'}
      </span>
    </>
  );
}
