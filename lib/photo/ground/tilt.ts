/** How a phone is held, from its orientation sensor. */
export interface Tilt {
  /** How far the picture leans, degrees clockwise, -180 to 180; null when the camera looks straight up or down. */
  readonly rollDeg: number | null;
  /** How high the rear camera looks: 0 at the horizon, -90 straight down. */
  readonly pitchDeg: number;
}

/**
 * The world's up in the camera's own axes (x right, y down, z the way it looks), of length 1: on level ground, the
 * ground's normal.
 * @returns null when the lean is unknown although it matters (the camera looks neither straight up nor straight down)
 */
export function upInCamera({ pitchDeg, rollDeg }: Tilt): readonly [number, number, number] | null {
  const [pitch, roll] = [radians(pitchDeg), radians(rollDeg ?? 0)];
  if (rollDeg === null && Math.cos(pitch) >= 0.1) return null;
  return [-Math.sin(roll) * Math.cos(pitch), -Math.cos(roll) * Math.cos(pitch), Math.sin(pitch)];
}

const radians = (degrees: number): number => (degrees * Math.PI) / 180;
const degrees = (angle: number): number => (angle * 180) / Math.PI;

/**
 * Lean of the picture and height of the look of a phone's rear camera.
 * @param betaDeg turn about the phone's x axis, 90 when it stands upright, degrees
 * @param gammaDeg turn about its y axis, degrees
 * @param screenAngleDeg how far the screen's picture is turned from the phone's natural orientation, 0, 90, 180 or 270
 * @see W3C Device Orientation and Motion, the Z-X'-Y'' rotation matrix: the world's up in the phone's axes is its last
 *   row, (-cos β sin γ, sin β, cos β cos γ); the rear camera looks along -z.
 * @example cameraTilt(90, 0, 0) // { rollDeg: 0, pitchDeg: 0 }: upright, looking at the horizon
 */
export function cameraTilt(betaDeg: number, gammaDeg: number, screenAngleDeg: number): Tilt {
  const [beta, gamma, turn] = [radians(betaDeg), radians(gammaDeg), radians(screenAngleDeg)];
  const upX = -Math.cos(beta) * Math.sin(gamma);
  const upY = Math.sin(beta);
  const upZ = Math.cos(beta) * Math.cos(gamma);
  const pitchDeg = degrees(Math.asin(Math.min(1, Math.max(-1, -upZ))));
  // The up direction as the screen's own axes see it.
  const screenX = upX * Math.cos(turn) - upY * Math.sin(turn);
  const screenY = upY * Math.cos(turn) + upX * Math.sin(turn);
  // When up leans to the left of the picture, the phone was turned clockwise.
  return {
    rollDeg: Math.hypot(screenX, screenY) < 0.1 ? null : degrees(Math.atan2(-screenX, screenY)) + 0,
    pitchDeg: pitchDeg + 0,
  };
}
