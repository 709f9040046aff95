import { greennessColour } from '@/lib/colour/greenness-scale';
import type { GreennessRange } from '@/lib/colour/greenness-range';

const stops = [0, 0.25, 0.5, 0.75, 1];

/** The scale of the greenness map, from light to dark green turf, over what the photo holds. */
export function MapLegend({ range: { from, to } }: { range: GreennessRange }) {
  const colours = stops.map((stop) => `rgb(${greennessColour(stop).join(' ')})`);
  return (
    <details>
      <summary className="soft">Scale of the greenness map</summary>
      <div className="legend-bar" style={{ background: `linear-gradient(to right, ${colours.join(', ')})` }} />
      <div className="row row-end soft">
        <span>{from.toFixed(2)} paler</span>
        <span>{((from + to) / 2).toFixed(3)}</span>
        <span>{to.toFixed(2)} darker green</span>
      </div>
    </details>
  );
}
