'use client';
import { Chart as ChartJs, Legend, LinearScale, LineElement, PointElement, Tooltip, type ChartOptions } from 'chart.js';
import annotation, { type AnnotationOptions } from 'chartjs-plugin-annotation';
import { useEffect, useState } from 'react';
import { Line } from 'react-chartjs-2';

ChartJs.register(LinearScale, PointElement, LineElement, Tooltip, Legend, annotation);

export interface Curve {
  name: string;
  points: readonly { readonly x: number; readonly y: number }[];
}

export interface CurveMark {
  /** Where on each axis the mark's lines stand; left out, that line isn't drawn. */
  x?: number;
  y?: number;
  label: string;
}

/**
 * Okabe and Ito's blue and vermilion, told apart by all kinds of colour vision; the dash tells them apart in grey as
 * well.
 */
const colours = ['#0072b2', '#d55e00', '#009e73'];
const dashes = [[], [8, 4], [2, 3]];

/** Smooth curves over a plain number, with marked values as thin lines. */
export function CurveChart({
  curves,
  marks,
  xLabel,
  yLabel,
  label,
}: {
  curves: Curve[];
  marks: CurveMark[];
  xLabel: string;
  yLabel: string;
  label: string;
}) {
  const [dark, setDark] = useState(false);
  useEffect(() => {
    const query = matchMedia('(prefers-color-scheme: dark)');
    const follow = () => setDark(query.matches);
    follow();
    query.addEventListener('change', follow);
    return () => query.removeEventListener('change', follow);
  }, []);
  const ink = dark ? '#eef2ee' : '#1b2620';
  const grid = dark ? '#39453e' : '#d8d3c4';
  const annotations: Record<string, AnnotationOptions> = {};
  marks.forEach((mark, index) => {
    const line = { type: 'line' as const, borderColor: ink, borderWidth: 1, borderDash: [3, 3] };
    const text = {
      display: true,
      content: mark.label,
      backgroundColor: dark ? '#1c2420' : '#ffffff',
      color: ink,
      font: { size: 11 },
      padding: 3,
    };
    if (mark.y !== undefined)
      annotations[`y-${index}`] = { ...line, yMin: mark.y, yMax: mark.y, label: { ...text, position: 'end' } };
    if (mark.x !== undefined)
      annotations[`x-${index}`] = {
        ...line,
        xMin: mark.x,
        xMax: mark.x,
        ...(mark.y === undefined ? { label: { ...text, position: 'start' } } : {}),
      };
  });
  const options: ChartOptions<'line'> = {
    responsive: true,
    maintainAspectRatio: false,
    animation: false,
    parsing: false,
    scales: {
      x: {
        type: 'linear',
        min: 0,
        title: { display: true, text: xLabel, color: ink },
        ticks: { color: ink, maxTicksLimit: 8 },
        grid: { color: grid },
      },
      y: { title: { display: true, text: yLabel, color: ink }, ticks: { color: ink }, grid: { color: grid } },
    },
    plugins: { legend: { labels: { color: ink } }, annotation: { annotations } },
  };
  const data = {
    datasets: curves.map((curve, index) => ({
      label: curve.name,
      data: curve.points.map(({ x, y }) => ({ x, y })),
      borderColor: colours[index % colours.length] as string,
      backgroundColor: colours[index % colours.length] as string,
      borderDash: dashes[index % dashes.length] as number[],
      borderWidth: 2.5,
      pointRadius: 0,
      pointHitRadius: 12,
    })),
  };
  return (
    <div className="chart-hold">
      <Line data={data} options={options} role="img" aria-label={label} />
    </div>
  );
}
