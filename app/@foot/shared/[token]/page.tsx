/** A shared page has no foot: no way into the diary. */
export default function SharedFoot() {
  return null;
}
