/** For somebody to whom no lawn is open. */
export function NoLawn() {
  return (
    <div className="teach">
      <h1>No lawn is open to you yet</h1>
      <p>Ask whoever keeps this diary to say which lawns you look at, work on or keep.</p>
    </div>
  );
}
