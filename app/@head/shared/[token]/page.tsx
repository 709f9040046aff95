/** The head of a shared page: no way into the diary, and no lawn's name. */
export default function SharedHead() {
  return (
    <header className="frame-head">
      <div className="frame-head-row">
        <span className="frame-name">Swathbook</span>
        <span className="frame-lawn">shared, read only</span>
      </div>
    </header>
  );
}
