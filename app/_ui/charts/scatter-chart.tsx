'use client';
import {
  Chart as ChartJs,
  Filler,
  Legend,
  LinearScale,
  LineElement,
  PointElement,
  ScatterController,
  LineController,
  Tooltip,
  type ChartData,
  type ChartOptions,
} from 'chart.js';
import annotation from 'chartjs-plugin-annotation';
import { Chart } from 'react-chartjs-2';
import { seriesColours, shapes, useChartInks } from './chart-inks';

ChartJs.register(
  LinearScale,
  PointElement,
  LineElement,
  ScatterController,
  LineController,
  Filler,
  Tooltip,
  Legend,
  annotation,
);

export interface ScatterPoint {
  x: number;
  y: number;
  photoId: string;
  text: string;
  /** Drawn hollow. */
  doubt?: boolean | undefined;
}

export interface ScatterGroup {
  name: string;
  points: ScatterPoint[];
}

export interface FitLine {
  x: number;
  value: number;
  /** The 95% interval of the mean, where there is one. */
  low?: number;
  high?: number;
}

/** Points by group with a fitted line and the band of its mean; a click opens the point's photo. */
export function ScatterChart({
  groups,
  fit,
  xLabel,
  yLabel,
  label,
}: {
  groups: ScatterGroup[];
  fit: FitLine[];
  xLabel: string;
  yLabel: string;
  label: string;
}) {
  const { ink, grid, sheet } = useChartInks();
  const data: ChartData<'scatter' | 'line', { x: number; y: number }[]> = {
    datasets: [
      ...groups.map((group, index) => {
        const colour = seriesColours[index % seriesColours.length] as string;
        return {
          type: 'scatter' as const,
          label: group.name,
          data: group.points,
          borderColor: colour,
          backgroundColor: colour,
          pointBackgroundColor: group.points.map((point) => (point.doubt ? sheet : colour)),
          pointBorderColor: colour,
          pointBorderWidth: 2,
          pointStyle: shapes[index % shapes.length] as string,
          pointRadius: 7,
          pointHoverRadius: 9,
        };
      }),
      {
        type: 'line' as const,
        label: 'line',
        data: fit.map(({ x, value }) => ({ x, y: value })),
        borderColor: ink,
        borderWidth: 2,
        pointRadius: 0,
        pointHitRadius: 0,
        tension: 0,
      },
      {
        type: 'line' as const,
        label: 'low',
        data: fit.flatMap(({ x, low }) => (low === undefined ? [] : [{ x, y: low }])),
        borderColor: ink,
        borderWidth: 1,
        borderDash: [4, 4],
        pointRadius: 0,
        pointHitRadius: 0,
        tension: 0.3,
      },
      {
        type: 'line' as const,
        label: 'high',
        data: fit.flatMap(({ x, high }) => (high === undefined ? [] : [{ x, y: high }])),
        borderColor: ink,
        borderWidth: 1,
        borderDash: [4, 4],
        pointRadius: 0,
        pointHitRadius: 0,
        tension: 0.3,
      },
    ],
  };
  const options: ChartOptions<'scatter' | 'line'> = {
    responsive: true,
    maintainAspectRatio: false,
    animation: false,
    scales: {
      x: {
        type: 'linear',
        title: { display: true, text: xLabel, color: ink },
        ticks: { color: ink },
        grid: { color: grid },
      },
      y: { title: { display: true, text: yLabel, color: ink }, ticks: { color: ink }, grid: { color: grid } },
    },
    plugins: {
      legend: {
        labels: { color: ink, usePointStyle: true, filter: (item) => (item.datasetIndex ?? 0) < groups.length },
      },
      tooltip: {
        filter: (item) => item.datasetIndex < groups.length,
        callbacks: { label: (item) => (item.raw as ScatterPoint).text },
      },
      annotation: { annotations: { zero: { type: 'line', yMin: 0, yMax: 0, borderColor: ink, borderWidth: 1 } } },
    },
    onClick: (_event, elements) => {
      const hit = elements.find((element) => element.datasetIndex < groups.length);
      const point = hit ? groups[hit.datasetIndex]?.points[hit.index] : undefined;
      if (point) location.assign(`/photos/${point.photoId}`);
    },
  };
  return (
    <div className="chart-hold">
      <Chart
        type="scatter"
        data={data as ChartData<'scatter'>}
        options={options as ChartOptions<'scatter'>}
        role="img"
        aria-label={label}
      />
    </div>
  );
}
