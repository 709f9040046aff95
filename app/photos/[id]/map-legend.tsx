import { greennessColour } from '@/lib/colour/greenness-scale';

const stops = [0, 0.25, 0.5, 0.75, 1];

/** The scale of the greenness map, from light to dark green turf. */
export function MapLegend() {
  const colours = stops.map((stop) => `rgb(${greennessColour(stop).join(' ')})`);
  return (
    <details>
      <summary className="soft">Scale of the greenness map</summary>
      <div className="legend-bar" style={{ background: `linear-gradient(to right, ${colours.join(', ')})` }} />
      <div className="row row-end soft">
        <span>0.20 paler</span>
        <span>0.45</span>
        <span>0.70 darker green</span>
      </div>
    </details>
  );
}
