'use client';
import { DAY_MS } from '@/lib/units/time';
import {
  CategoryScale,
  Chart as ChartJs,
  Filler,
  Legend,
  LinearScale,
  LineElement,
  PointElement,
  Tooltip,
  type ChartData,
  type ChartOptions,
} from 'chart.js';
import annotation, { type AnnotationOptions } from 'chartjs-plugin-annotation';
import { Line } from 'react-chartjs-2';
import { seriesColours, shapes, useChartInks } from './chart-inks';
import { shortDayText, type Reader } from '@/lib/units/dates';

ChartJs.register(LinearScale, CategoryScale, PointElement, LineElement, Filler, Tooltip, Legend, annotation);

export interface SeriesPoint {
  /** Milliseconds since 1970, UTC. */
  x: number;
  y: number;
  low?: number | null;
  high?: number | null;
  photoId?: string;
  doubt?: string | undefined;
}

export interface Series {
  name: string;
  points: SeriesPoint[];
}

export interface Moment {
  x: number;
  label: string;
}

/** A spray so many days from the photos still belongs on their chart; one farther off would squeeze them. */
const REACH_DAYS = 14;

/** From the first to the last photo, with the sprays near them, and a little room. */
function spanOf(series: readonly Series[], sprays: readonly Moment[]): { from: number; to: number } {
  const xs = series.flatMap((entry) => entry.points.map((point) => point.x));
  const [first, last] =
    xs.length > 0
      ? [Math.min(...xs), Math.max(...xs)]
      : [Math.min(...sprays.map(({ x }) => x)), Math.max(...sprays.map(({ x }) => x))];
  if (!Number.isFinite(first) || !Number.isFinite(last)) return { from: 0, to: DAY_MS };
  const near = sprays
    .map(({ x }) => x)
    .filter((x) => x >= first - REACH_DAYS * DAY_MS && x <= last + REACH_DAYS * DAY_MS);
  const [from, to] = [Math.min(first, ...near), Math.max(last, ...near)];
  const room = Math.max(DAY_MS, 0.03 * (to - from));
  return { from: from - room, to: to + room };
}

/** Values by date with 95% intervals as bars, sprays as upright lines. A doubtful point is hollow and says why. */
export function TimeChart({
  series,
  sprays,
  yLabel,
  reader,
  zeroLine,
  label,
}: {
  series: Series[];
  sprays: Moment[];
  yLabel: string;
  reader: Reader;
  zeroLine?: boolean;
  label: string;
}) {
  const { dark, ink, grid, sheet } = useChartInks();

  const data: ChartData<'line', SeriesPoint[]> = {
    datasets: series.map((entry, index) => {
      const colour = seriesColours[index % seriesColours.length] as string;
      return {
        label: entry.name,
        data: entry.points,
        borderColor: colour,
        backgroundColor: colour,
        pointBackgroundColor: entry.points.map((point) => (point.doubt ? sheet : colour)),
        pointBorderColor: colour,
        pointBorderWidth: 2,
        pointStyle: shapes[index % shapes.length] as string,
        pointRadius: 6,
        pointHoverRadius: 8,
        borderWidth: 2,
        tension: 0,
      };
    }),
  };
  const annotations: Record<string, AnnotationOptions> = {};
  const { from, to } = spanOf(series, sprays);
  const shown = sprays.filter((spray) => spray.x >= from && spray.x <= to);
  shown.forEach((spray, index) => {
    annotations[`spray-${index}`] = {
      type: 'line',
      xMin: spray.x,
      xMax: spray.x,
      borderColor: dark ? '#eab46f' : '#8f4f10',
      borderWidth: 2,
      borderDash: [6, 4],
      // Neighbours' labels stand on three steps; where there is no room for them the lines speak alone.
      label: {
        display: (context) => shown.length <= 12 && context.chart.width > 44 * shown.length,
        content: spray.label,
        position: 'end',
        yAdjust: (index % 3) * 20,
        backgroundColor: dark ? '#3b2c18' : '#f8ecd9',
        color: ink,
        font: { size: 11 },
      },
    };
  });
  series.forEach((entry, s) => {
    entry.points.forEach((point, index) => {
      if (point.low == null || point.high == null) return;
      annotations[`interval-${s}-${index}`] = {
        type: 'line',
        xMin: point.x,
        xMax: point.x,
        yMin: point.low,
        yMax: point.high,
        borderColor: seriesColours[s % seriesColours.length] as string,
        borderWidth: 1.5,
      };
    });
  });
  if (zeroLine) annotations['zero'] = { type: 'line', yMin: 0, yMax: 0, borderColor: ink, borderWidth: 1 };

  const options: ChartOptions<'line'> = {
    responsive: true,
    maintainAspectRatio: false,
    animation: false,
    parsing: false,
    scales: {
      x: {
        type: 'linear',
        min: from,
        max: to,
        ticks: { color: ink, callback: (value) => shortDayText(Number(value), reader), maxTicksLimit: 8 },
        grid: { color: grid },
      },
      y: {
        grace: '8%',
        title: { display: true, text: yLabel, color: ink },
        ticks: { color: ink },
        grid: { color: grid },
      },
    },
    plugins: {
      legend: { labels: { color: ink, usePointStyle: true } },
      tooltip: {
        callbacks: {
          title: (items) => (items[0] ? shortDayText((items[0].raw as SeriesPoint).x, reader) : ''),
          label: (item) => {
            const point = item.raw as SeriesPoint;
            const interval =
              point.low != null && point.high != null ? ` (${point.low.toFixed(3)} to ${point.high.toFixed(3)})` : '';
            return `${item.dataset.label}: ${point.y.toFixed(3)}${interval}`;
          },
          afterLabel: (item) => (item.raw as SeriesPoint).doubt ?? '',
        },
      },
      annotation: { annotations },
    },
    onClick: (_event, elements) => {
      const hit = elements[0];
      const point = hit ? series[hit.datasetIndex]?.points[hit.index] : undefined;
      if (point?.photoId) location.assign(`/photos/${point.photoId}`);
    },
  };
  return (
    <div className="chart-hold">
      <Line data={data} options={options} role="img" aria-label={label} />
    </div>
  );
}
