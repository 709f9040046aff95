import { CARD_CELLS, cardCells } from '@/lib/photo/ground/card-code';
import { CARD_AREA, CODE_SIDE_MM, COLOUR_FIELDS, GREY_FIELD } from '@/lib/photo/ground/card-design';

const cellMm = CODE_SIDE_MM / CARD_CELLS;
const arm = 9;

/** One plot card at its true size: millimetres are the drawing's units. */
export function CardDrawing({ number, place }: { number: number; place: string }) {
  const { leftMm, topMm, widthMm, heightMm } = CARD_AREA;
  const half = CODE_SIDE_MM / 2;
  return (
    <svg
      className="plot-card"
      viewBox={`${leftMm} ${topMm} ${widthMm} ${heightMm}`}
      width={`${widthMm}mm`}
      height={`${heightMm}mm`}
      role="img"
      aria-label={`Plot card ${number}, ${place}`}
    >
      <rect x={leftMm} y={topMm} width={widthMm} height={heightMm} fill="#fff" />
      <text x={leftMm} y={topMm + 13} fontSize="15" fontWeight="700" fill="#000">
        {number}
      </text>
      <text x={leftMm + 26} y={topMm + 13} fontSize="10" fill="#000">
        {place}
      </text>
      <rect x={-half} y={-half} width={CODE_SIDE_MM} height={CODE_SIDE_MM} fill="#000" />
      {cardCells(number).flatMap((row, y) =>
        // White cells side by side are one rectangle, so that no hairline is left between them in print.
        runsOf(row).map(([from, to]) => (
          <rect
            key={`${y}-${from}`}
            x={-half + from * cellMm}
            y={-half + y * cellMm}
            width={(to - from) * cellMm}
            height={cellMm + (y < CARD_CELLS - 1 ? 0.02 : 0)}
            fill="#fff"
          />
        )),
      )}
      {[
        [0, -1],
        [1, 0],
        [0, 1],
        [-1, 0],
      ].map(([dx, dy]) => (
        <line
          key={`${dx} ${dy}`}
          x1={dx! * (half + 3)}
          y1={dy! * (half + 3)}
          x2={dx! * (half + 3 + arm)}
          y2={dy! * (half + 3 + arm)}
          stroke="#000"
          strokeWidth="0.6"
        />
      ))}
      {[GREY_FIELD, ...COLOUR_FIELDS].map((field) => (
        <rect
          key={field.name}
          x={field.leftMm}
          y={field.topMm}
          width={field.widthMm}
          height={field.heightMm}
          fill={`rgb(${field.srgb.join(' ')})`}
        />
      ))}
    </svg>
  );
}

function runsOf(row: readonly boolean[]): [number, number][] {
  const runs: [number, number][] = [];
  row.forEach((white, x) => {
    if (!white) return;
    const last = runs.at(-1);
    if (last && last[1] === x) last[1] = x + 1;
    else runs.push([x, x + 1]);
  });
  return runs;
}
