'use client';
import { useEffect, useRef, useState } from 'react';

/** Two photos one over the other; the handle shows more of the one or the other. `matrix3d` lays the earlier onto the later. */
export function Slider({ before, after, matrix3d }: { before: { src: string; alt: string; label: string; width: number; height: number }; after: { src: string; alt: string; label: string; width: number; height: number }; matrix3d: string | null }) {
  const [share, setShare] = useState(50);
  const [scale, setScale] = useState(1);
  const stage = useRef<HTMLDivElement>(null);
  useEffect(() => {
    if (!stage.current) return;
    const observer = new ResizeObserver(([entry]) => entry && setScale(entry.contentRect.width / after.width));
    observer.observe(stage.current);
    return () => observer.disconnect();
  }, [after.width]);
  return (
    <div>
      <div ref={stage} className="stage" style={{ touchAction: 'pan-y', aspectRatio: `${after.width} / ${after.height}` }}>
        <img src={after.src} alt={after.alt} width={after.width} height={after.height} style={{ position: 'absolute', inset: 0, height: '100%' }} />
        <div style={{ position: 'absolute', inset: 0, clipPath: `inset(0 ${100 - share}% 0 0)` }}>
          <img
            src={before.src}
            alt={before.alt}
            style={
              matrix3d
                ? {
                    position: 'absolute',
                    left: 0,
                    top: 0,
                    width: `${before.width}px`,
                    height: `${before.height}px`,
                    maxWidth: 'none',
                    transformOrigin: '0 0',
                    // The inner transform works in the later photo's pixels; the outer scale brings those to the stage's width.
                    transform: `scale(${scale}) ${matrix3d}`,
                  }
                : { position: 'absolute', inset: 0, width: '100%', height: '100%' }
            }
          />
        </div>
        <div style={{ position: 'absolute', top: 0, bottom: 0, left: `${share}%`, width: 3, marginLeft: -1.5, background: '#ffd23f' }} />
      </div>
      <label className="field" style={{ marginTop: '0.5rem' }}>
        <span className="row row-end">
          <span>Before: {before.label}</span>
          <span>After: {after.label}</span>
        </span>
        <input
          type="range"
          min={0}
          max={100}
          value={share}
          aria-label="How much of the earlier photo is shown"
          aria-valuetext={`${share} % before, ${100 - share} % after`}
          onChange={(event) => setShare(Number(event.target.value))}
        />
      </label>
    </div>
  );
}
