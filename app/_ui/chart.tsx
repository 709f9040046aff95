'use client';
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

/** Values by date with 95% intervals as bars, sprays as upright lines. A doubtful point is hollow and says why. */
export function TimeChart({ series, sprays, yLabel, reader, zeroLine, label }: { series: Series[]; sprays: Moment[]; yLabel: string; reader: Reader; zeroLine?: boolean; label: string }) {
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
  sprays.forEach((spray, index) => {
    annotations[`spray-${index}`] = {
      type: 'line',
      xMin: spray.x,
      xMax: spray.x,
      borderColor: dark ? '#eab46f' : '#8f4f10',
      borderWidth: 2,
      borderDash: [6, 4],
      label: { display: true, content: spray.label, position: 'end', backgroundColor: dark ? '#3b2c18' : '#f8ecd9', color: ink, font: { size: 11 } },
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
      x: { type: 'linear', ticks: { color: ink, callback: (value) => shortDayText(Number(value), reader), maxTicksLimit: 8 }, grid: { color: grid } },
      y: { grace: '8%', title: { display: true, text: yLabel, color: ink }, ticks: { color: ink }, grid: { color: grid } },
    },
    plugins: {
      legend: { labels: { color: ink, usePointStyle: true } },
      tooltip: {
        callbacks: {
          title: (items) => (items[0] ? shortDayText((items[0].raw as SeriesPoint).x, reader) : ''),
          label: (item) => {
            const point = item.raw as SeriesPoint;
            const interval = point.low != null && point.high != null ? ` (${point.low.toFixed(3)} to ${point.high.toFixed(3)})` : '';
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
