/**
 * Figures drawn as SVG on the server: the same on screen, on paper and in grey. Series differ by point shape, dash and
 * colour.
 */

export interface CurveSeries {
  name: string;
  points: readonly { x: number; y: number; low?: number | null; high?: number | null }[];
}

const DASHES = ['', '7 4', '2 3', '9 3 2 3', '12 4', '4 2', '1 4'];
const W = 640;
const H = 320;
const edge = { left: 62, right: 120, top: 14, bottom: 44 };

/** About `count` round steps that cover a span. */
function ticks(from: number, to: number, count = 5): number[] {
  const rough = (to - from || 1) / count;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 2.5, 5, 10].find((one) => one * power >= rough) ?? 10) * power;
  const out: number[] = [];
  for (let at = Math.ceil(from / step - 1e-9) * step; at <= to + step * 1e-9; at += step)
    out.push(Number(at.toPrecision(12)));
  return out;
}

function Shape({ kind, x, y, full }: { kind: number; x: number; y: number; full: boolean }) {
  const className = full ? 'dot-full' : 'dot';
  const r = 4.5;
  switch (kind % 5) {
    case 0:
      return <circle cx={x} cy={y} r={r} className={className} />;
    case 1:
      return <rect x={x - r} y={y - r} width={2 * r} height={2 * r} className={className} />;
    case 2:
      return <path d={`M${x} ${y - r * 1.3}L${x + r * 1.2} ${y + r}L${x - r * 1.2} ${y + r}Z`} className={className} />;
    case 3:
      return (
        <path
          d={`M${x} ${y - r * 1.4}L${x + r * 1.4} ${y}L${x} ${y + r * 1.4}L${x - r * 1.4} ${y}Z`}
          className={className}
        />
      );
    default:
      return (
        <path
          d={`M${x - r} ${y - r}L${x + r} ${y + r}M${x - r} ${y + r}L${x + r} ${y - r}`}
          className={className}
          fill="none"
        />
      );
  }
}

/** Lines over x with intervals; the name of each series stands at its end, with its own shape and dash. */
export function CurveFigure({
  series,
  xLabel,
  yLabel,
  label,
  caption,
  moments = [],
  zero = false,
  joined = true,
}: {
  series: readonly CurveSeries[];
  xLabel: string;
  yLabel: string;
  label: string;
  caption?: string;
  moments?: readonly { x: number; label: string }[];
  zero?: boolean;
  joined?: boolean;
}) {
  const all = series.flatMap((one) => one.points);
  if (all.length === 0) return <p className="notice">Nothing to draw yet.</p>;
  const ys = [...all.flatMap((point) => [point.y, point.low ?? point.y, point.high ?? point.y]), ...(zero ? [0] : [])];
  const own = all.map((point) => point.x);
  // What lies far outside of the points would squeeze them; and days are counted from 0.
  const reach = 0.25 * (Math.max(...own) - Math.min(...own) || 1);
  const near = moments.filter((moment) => moment.x >= Math.min(...own) - reach && moment.x <= Math.max(...own) + reach);
  const xs = [
    ...own,
    ...near.map((moment) => moment.x),
    ...(joined && Math.min(...own) > 0 && Math.min(...own) < 0.5 * Math.max(...own) ? [0] : []),
  ];
  const pad = (from: number, to: number, share: number) => (to - from || Math.abs(to) || 1) * share;
  const [x0, x1] = [
    Math.min(...xs) === 0 ? 0 : Math.min(...xs) - pad(Math.min(...xs), Math.max(...xs), 0.03),
    Math.max(...xs) + pad(Math.min(...xs), Math.max(...xs), 0.03),
  ];
  const [y0, y1] = [
    Math.min(...ys) - pad(Math.min(...ys), Math.max(...ys), 0.06),
    Math.max(...ys) + pad(Math.min(...ys), Math.max(...ys), 0.06),
  ];
  const px = (x: number) => edge.left + ((x - x0) / (x1 - x0)) * (W - edge.left - edge.right);
  const py = (y: number) => H - edge.bottom - ((y - y0) / (y1 - y0)) * (H - edge.top - edge.bottom);
  const yTicks = ticks(y0, y1);
  const digits = Math.max(...yTicks.map((y) => (String(y).split('.')[1] ?? '').length));
  // Names at the lines' ends, pushed apart so that none covers another.
  const ends = series
    .map((one, index) => ({ index, name: one.name, y: py(one.points.at(-1)?.y ?? 0) }))
    .sort((a, b) => a.y - b.y);
  for (let i = 1; i < ends.length; i++) ends[i]!.y = Math.max(ends[i]!.y, ends[i - 1]!.y + 15);
  return (
    <figure className="figure" tabIndex={0}>
      <svg viewBox={`0 0 ${W} ${H}`} role="img" aria-label={label}>
        {yTicks.map((y) => (
          <g key={y}>
            <line x1={edge.left} x2={W - edge.right} y1={py(y)} y2={py(y)} className="grid" />
            <text x={edge.left - 6} y={py(y) + 4} textAnchor="end">
              {y.toFixed(digits).replace('-', '−')}
            </text>
          </g>
        ))}
        {ticks(x0, x1, 8).map((x) => (
          <text key={x} x={px(x)} y={H - edge.bottom + 16} textAnchor="middle">
            {Number(x.toPrecision(6))}
          </text>
        ))}
        <line x1={edge.left} x2={W - edge.right} y1={H - edge.bottom} y2={H - edge.bottom} className="axis" />
        {zero && <line x1={edge.left} x2={W - edge.right} y1={py(0)} y2={py(0)} className="zero" />}
        {near.map((moment, index) => (
          <g key={`${moment.x} ${index}`}>
            <line x1={px(moment.x)} x2={px(moment.x)} y1={edge.top} y2={H - edge.bottom} className="moment" />
            <text x={px(moment.x) + 3} y={edge.top + 9 + (index % 3) * 13}>
              {moment.label}
            </text>
          </g>
        ))}
        <text x={(edge.left + W - edge.right) / 2} y={H - 8} textAnchor="middle">
          {xLabel}
        </text>
        <text transform={`translate(14 ${(H - edge.bottom + edge.top) / 2}) rotate(-90)`} textAnchor="middle">
          {yLabel}
        </text>
        {series.map((one, index) => (
          <g key={one.name} className={`series-${index % 7}`}>
            {joined && (
              <polyline
                points={one.points.map((point) => `${px(point.x).toFixed(1)},${py(point.y).toFixed(1)}`).join(' ')}
                className="line"
                strokeDasharray={DASHES[index % DASHES.length]}
              />
            )}
            {one.points.map((point, at) => (
              <g key={at}>
                {point.low != null && point.high != null && (
                  <line
                    x1={px(point.x) + index * 2}
                    x2={px(point.x) + index * 2}
                    y1={py(point.low)}
                    y2={py(point.high)}
                    className="bar"
                  />
                )}
                <Shape kind={index} x={px(point.x)} y={py(point.y)} full={index % 2 === 0} />
              </g>
            ))}
          </g>
        ))}
        {joined &&
          ends.map((end) => (
            <g key={end.name} className={`series-${end.index % 7}`}>
              <Shape kind={end.index} x={W - edge.right + 12} y={end.y} full={end.index % 2 === 0} />
              <text x={W - edge.right + 22} y={end.y + 4}>
                {end.name.length > 15 ? `${end.name.slice(0, 14)}…` : end.name}
              </text>
            </g>
          ))}
      </svg>
      {caption && <figcaption>{caption}</figcaption>}
    </figure>
  );
}
