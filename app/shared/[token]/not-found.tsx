/** A stranger learns that the link leads nowhere, and nothing of the diary behind it. */
export default function SharedNotFound() {
  return (
    <div className="sheet">
      <h1>This link leads nowhere</h1>
      <p>It is not complete, or whoever gave it to you has ended it. Ask them for a new one.</p>
    </div>
  );
}
