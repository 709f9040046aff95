import type { Point } from '@/lib/photo/raster/pixels';
import type { EditorTrial } from './outline-steps';

export const stakeNames = ['far left', 'far right', 'near right', 'near left'] as const;

/** A small strip map that shows which of the trial's four corner stakes is asked for, as the map is printed. */
export function StakeGuide({ trial, wanted }: { trial: EditorTrial; wanted: number }) {
  const xs = trial.rectangleM.map(([x]) => x);
  const ys = trial.rectangleM.map(([, y]) => y);
  const [width, length] = [Math.max(...xs), Math.max(...ys)];
  const pad = 0.09 * Math.max(width, length);
  const flip = ([x, y]: Point) => `${x},${length - y}`;
  const stake = trial.rectangleM[wanted];
  return (
    <svg
      className="stake-guide"
      viewBox={`${-pad} ${-pad} ${width + 2 * pad} ${length + 2 * pad}`}
      role="img"
      aria-label={`Strip map: the ${stakeNames[wanted]} stake is meant`}
    >
      <rect x={0} y={0} width={width} height={length} className="stake-guide-edge" />
      {trial.strips.map(({ plotId, label, cornersM }) => {
        const middle = cornersM.reduce<[number, number]>(
          ([x, y], [a, b]) => [x + a / cornersM.length, y + b / cornersM.length],
          [0, 0],
        );
        return (
          <g key={plotId}>
            <polygon points={cornersM.map(flip).join(' ')} />
            <text
              x={middle[0]}
              y={length - middle[1]}
              fontSize={pad * 0.7}
              textAnchor="middle"
              dominantBaseline="central"
            >
              {label}
            </text>
          </g>
        );
      })}
      {stake && <circle cx={stake[0]} cy={length - stake[1]} r={pad * 0.75} />}
    </svg>
  );
}
