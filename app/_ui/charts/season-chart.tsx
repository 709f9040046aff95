'use client';
import {
  BarController,
  BarElement,
  Chart as ChartJs,
  Filler,
  Legend,
  LinearScale,
  LineController,
  LineElement,
  PointElement,
  Tooltip,
  type ChartData,
  type ChartDataset,
  type ChartOptions,
} from 'chart.js';
import annotation, { type AnnotationOptions } from 'chartjs-plugin-annotation';
import { Chart } from 'react-chartjs-2';
import { shortDayText, type Reader } from '@/lib/units/dates';
import { useDarkMode } from '../dark-mode';

ChartJs.register(
  LinearScale,
  PointElement,
  LineElement,
  BarElement,
  LineController,
  BarController,
  Filler,
  Tooltip,
  Legend,
  annotation,
);

export interface DayValue {
  /** Local noon, milliseconds since 1970, UTC. */
  x: number;
  y: number | null;
}

/** One line, band or row of bars. `fillTo` names the series a band reaches to. */
export interface DaySeries {
  name: string;
  kind: 'line' | 'bars';
  values: DayValue[];
  /** 0 to 5 of a colour-blind-safe set; each has its own dash as well. */
  tone: number;
  fillTo?: number;
}

export interface SeasonMark {
  x: number;
  label: string;
  href: string;
}

/** Okabe and Ito 2008. */
const tones = ['#d55e00', '#0072b2', '#009e73', '#cc79a7', '#e69f00', '#56b4e9'];
const dashes: number[][] = [[], [6, 3], [2, 3], [8, 3, 2, 3], [], [4, 4]];

/**
 * Values by day over a season: sprays as upright lines, photos as triangles along the foot, spans without data shaded.
 */
export function SeasonChart({
  series,
  sprays,
  photos,
  gaps,
  from,
  to,
  yLabel,
  reader,
  label,
  digits,
}: {
  series: DaySeries[];
  sprays: SeasonMark[];
  photos: SeasonMark[];
  gaps: { from: number; to: number }[];
  from: number;
  to: number;
  yLabel: string;
  reader: Reader;
  label: string;
  digits: number;
}) {
  const dark = useDarkMode();
  const ink = dark ? '#eef2ee' : '#1b2620';
  const grid = dark ? '#39453e' : '#d8d3c4';
  const ochre = dark ? '#eab46f' : '#8f4f10';
  const pine = dark ? '#8ad0b2' : '#1d5a45';

  const data: ChartData<'line' | 'bar', DayValue[]> = {
    datasets: [
      ...series.map((entry): ChartDataset<'line' | 'bar', DayValue[]> => {
        const colour = tones[entry.tone % tones.length] as string;
        if (entry.kind === 'bars')
          return {
            type: 'bar',
            label: entry.name,
            data: entry.values,
            backgroundColor: colour,
            pointStyle: 'rect',
            barPercentage: 1,
            categoryPercentage: 0.9,
            minBarLength: 0,
          };
        return {
          type: 'line',
          label: entry.name,
          data: entry.values,
          borderColor: colour,
          backgroundColor: `${colour}2e`,
          borderDash: dashes[entry.tone % dashes.length] as number[],
          borderWidth: 2,
          pointStyle: 'line',
          pointRadius: 0,
          pointHitRadius: 8,
          spanGaps: false,
          ...(entry.fillTo === undefined ? {} : { fill: entry.fillTo }),
        };
      }),
      {
        type: 'line',
        label: 'Photos',
        data: photos.map((photo) => ({ x: photo.x, y: 0.03 })),
        yAxisID: 'foot',
        showLine: false,
        pointStyle: 'triangle',
        pointRadius: 6,
        pointHitRadius: 10,
        borderColor: pine,
        backgroundColor: pine,
      },
    ],
  };

  const annotations: Record<string, AnnotationOptions> = {};
  gaps.forEach((gap, index) => {
    annotations[`gap-${index}`] = {
      type: 'box',
      xMin: gap.from,
      xMax: gap.to,
      backgroundColor: dark ? '#ffffff14' : '#00000012',
      borderWidth: 0,
      drawTime: 'beforeDatasetsDraw',
    };
  });
  sprays.forEach((spray, index) => {
    annotations[`spray-${index}`] = {
      type: 'line',
      xMin: spray.x,
      xMax: spray.x,
      borderColor: ochre,
      borderWidth: 2,
      borderDash: [6, 4],
      label: {
        display: (context) => sprays.length <= 12 && context.chart.width > 560,
        content: spray.label,
        position: 'end',
        yAdjust: (index % 2) * 20,
        backgroundColor: dark ? '#3b2c18' : '#f8ecd9',
        color: ink,
        font: { size: 11 },
      },
      click: () => location.assign(spray.href),
    };
  });

  const options: ChartOptions<'line' | 'bar'> = {
    responsive: true,
    maintainAspectRatio: false,
    animation: false,
    parsing: false,
    interaction: { mode: 'nearest', axis: 'x', intersect: false },
    scales: {
      x: {
        type: 'linear',
        min: from,
        max: to,
        offset: false,
        ticks: {
          color: ink,
          callback: (value) => shortDayText(Number(value), reader),
          maxTicksLimit: 7,
          maxRotation: 0,
        },
        grid: { color: grid },
      },
      y: { title: { display: true, text: yLabel, color: ink }, ticks: { color: ink }, grid: { color: grid } },
      foot: { type: 'linear', min: 0, max: 1, display: false },
    },
    plugins: {
      legend: {
        labels: {
          color: ink,
          usePointStyle: true,
          pointStyleWidth: 28,
          boxHeight: 8,
          filter: (item) => item.text !== 'Photos' || photos.length > 0,
        },
      },
      tooltip: {
        callbacks: {
          title: (items) => (items[0] ? shortDayText((items[0].raw as DayValue).x, reader) : ''),
          label: (item) => {
            if (item.dataset.label === 'Photos') return photos[item.dataIndex]?.label ?? 'Photo';
            const value = (item.raw as DayValue).y;
            return `${item.dataset.label}: ${value === null ? 'not known' : value.toFixed(digits)}`;
          },
        },
      },
      annotation: { annotations },
    },
    onClick: (_event, elements) => {
      const hit = elements.find((element) => element.datasetIndex === series.length);
      const photo = hit ? photos[hit.index] : undefined;
      if (photo) location.assign(photo.href);
    },
  };
  return (
    <div className="chart-hold">
      <Chart
        type="line"
        data={data as ChartData<'line', DayValue[]>}
        options={options as ChartOptions<'line'>}
        role="img"
        aria-label={label}
      />
    </div>
  );
}
