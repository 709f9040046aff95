/**
 * The strip map to scale: metres from the near-left stake, near edge at the bottom. Told apart by hatching and letter,
 * so it works in grey.
 */

export interface MapStrip {
  key: string;
  label: string;
  treatment: string;
  subTreatment: string | null;
  cornersM: readonly (readonly [number, number])[];
}

const treatmentLetter = (index: number): string => String.fromCharCode(65 + (index % 26));

const HATCHES = [
  { path: '', dots: false },
  { path: 'M0 10L10 0', dots: false },
  { path: '', dots: true },
  { path: 'M0 5H10', dots: false },
  { path: 'M0 0L10 10M0 10L10 0', dots: false },
  { path: 'M5 0V10', dots: false },
  { path: 'M0 5H10M5 0V10', dots: false },
  { path: 'M0 0L10 10', dots: false },
] as const;

/** A step of 1, 2 or 5 times a power of ten, about a fifth of the span. */
function roundStep(span: number): number {
  const rough = span / 5;
  const power = 10 ** Math.floor(Math.log10(rough));
  return ([1, 2, 5, 10].find((step) => step * power >= rough) ?? 10) * power;
}

export function StripMap({
  id,
  strips,
  treatments,
  widthM,
  lengthM,
  unit,
  perMetre,
  stakes = [],
}: {
  /** Keeps pattern names apart when a page shows two maps. */
  id: string;
  strips: readonly MapStrip[];
  /** In the order of their letters; subplot treatments after main ones. */
  treatments: readonly { name: string; isCheck: boolean }[];
  widthM: number;
  lengthM: number;
  unit: string;
  /** Units on the scale for one metre. */
  perMetre: number;
  stakes?: readonly { label: string; xM: number; yM: number }[];
}) {
  const scale = 100 / Math.max(widthM, lengthM, 1);
  const margin = 4;
  // Wide enough for the words under it, however narrow the trial.
  const w = Math.max(widthM * scale + 2 * margin, 72);
  const left0 = (w - widthM * scale) / 2;
  const x = (metres: number) => left0 + metres * scale;
  const y = (metres: number) => margin + (lengthM - metres) * scale;
  const h = lengthM * scale + 2 * margin + 8;
  const letterOf = (name: string) => treatmentLetter(treatments.findIndex((treatment) => treatment.name === name));
  const hatchOf = (name: string) => treatments.findIndex((treatment) => treatment.name === name) % HATCHES.length;
  const step = roundStep(widthM * perMetre) / perMetre;
  return (
    <svg
      className="strip-map"
      viewBox={`0 0 ${w.toFixed(2)} ${h.toFixed(2)}`}
      role="img"
      aria-label={`Strip map, ${strips.length} strips, ${(widthM * perMetre).toFixed(1)} by ${(lengthM * perMetre).toFixed(1)} ${unit}`}
    >
      <defs>
        {HATCHES.map((hatch, index) => (
          <pattern
            key={index}
            id={`${id}-hatch-${index}`}
            width="10"
            height="10"
            patternUnits="userSpaceOnUse"
            patternTransform="scale(0.28)"
          >
            {hatch.path && <path d={hatch.path} className="hatch" />}
            {hatch.dots && <circle cx="5" cy="5" r="1.6" className="hatch-dot" />}
          </pattern>
        ))}
      </defs>
      <rect x={x(0)} y={y(lengthM)} width={widthM * scale} height={lengthM * scale} className="map-ground" />
      {strips.map((strip) => {
        const xs = strip.cornersM.map(([px]) => x(px));
        const ys = strip.cornersM.map(([, py]) => y(py));
        const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
        const letters = letterOf(strip.treatment) + (strip.subTreatment ? letterOf(strip.subTreatment) : '');
        // As large as the strip takes: a figure of a sans serif is some 0.62 of its height wide.
        const fits = (text: string) => (right - left) / (0.68 * text.length);
        const size = Math.min(7, fits(letters), fits(strip.label) / 0.85, (bottom - top) * 0.3);
        const check = treatments.find((treatment) => treatment.name === strip.treatment)?.isCheck ?? false;
        return (
          <g key={strip.key}>
            <title>{`${strip.label}: ${strip.treatment}${strip.subTreatment ? ` + ${strip.subTreatment}` : ''}`}</title>
            <rect x={left} y={top} width={right - left} height={bottom - top} className="map-strip" />
            {!check && (
              <rect
                x={left}
                y={top}
                width={right - left}
                height={bottom - top}
                fill={`url(#${id}-hatch-${hatchOf(strip.treatment)})`}
              />
            )}
            <rect
              x={Math.max(left, (left + right) / 2 - size)}
              y={(top + bottom) / 2 - size * 1.15}
              width={Math.min(right - left, size * 2)}
              height={size * 2.3}
              rx={0.6}
              className="map-plate"
            />
            <text
              x={(left + right) / 2}
              y={(top + bottom) / 2 - size * 0.05}
              textAnchor="middle"
              fontSize={size}
              className="map-letter"
            >
              {letters}
            </text>
            <text
              x={(left + right) / 2}
              y={(top + bottom) / 2 + size * 0.9}
              textAnchor="middle"
              fontSize={size * 0.85}
              className="map-label"
            >
              {strip.label}
            </text>
          </g>
        );
      })}
      {stakes.map((stake) => (
        <circle key={stake.label} cx={x(stake.xM)} cy={y(stake.yM)} r={0.9} className="map-stake" />
      ))}
      <line x1={margin} x2={margin + step * scale} y1={h - 6} y2={h - 6} className="map-scale" />
      <text x={margin} y={h - 2} fontSize={3.2} className="map-label">
        {`${Number((step * perMetre).toPrecision(3))} ${unit}`}
      </text>
      <text x={w - margin} y={h - 2} fontSize={3.2} textAnchor="end" className="map-label">
        stand at this edge
      </text>
    </svg>
  );
}

/** What the letters of a strip map stand for. */
export function MapKey({ treatments }: { treatments: readonly { name: string; isCheck: boolean; what: string }[] }) {
  return (
    <dl className="map-key">
      {treatments.map((treatment, index) => (
        <div key={treatment.name}>
          <dt>
            {treatmentLetter(index)} {treatment.name}
          </dt>
          <dd>{treatment.isCheck ? 'unsprayed check' : treatment.what}</dd>
        </div>
      ))}
    </dl>
  );
}
