'use client';
import { useEffect, useState } from 'react';

export interface CardLoad {
  title: string;
  mark: string;
  area: string;
  steps: {
    instruction: string;
    reason: string;
    amounts: { name: string; text: string; exact: string; advice: string }[];
  }[];
}

/** The ticks of a card, kept on this device only; anything else under the key is passed over. */
function readTicks(key: string): string[] {
  const kept: unknown = JSON.parse(localStorage.getItem(key) ?? '[]');
  return Array.isArray(kept) ? kept.filter((tick): tick is string => typeof tick === 'string') : [];
}

/** The fillings as a list to tick off: empty boxes on paper, kept ticks on the phone. */
export function Checklist({ cardId, loads }: { cardId: string; loads: CardLoad[] }) {
  const key = `card:${cardId}`;
  const [ticks, setTicks] = useState<readonly string[]>([]);
  useEffect(() => {
    const restore = () => setTicks(readTicks(key));
    restore();
  }, [key]);
  const toggle = (tick: string, on: boolean) => {
    const next = on ? [...ticks, tick] : ticks.filter((one) => one !== tick);
    setTicks(next);
    localStorage.setItem(key, JSON.stringify(next));
  };
  return (
    <>
      {loads.map((load, l) => (
        <section key={load.title} className="card-load">
          <h2>
            {load.title}: to the {load.mark} mark <span className="soft">for {load.area}</span>
          </h2>
          <ol className="card-steps">
            {load.steps.map((step, s) => {
              const tick = `${l}-${s}`;
              return (
                <li key={step.instruction}>
                  <label className="card-step">
                    <input
                      type="checkbox"
                      checked={ticks.includes(tick)}
                      onChange={(event) => toggle(tick, event.target.checked)}
                    />
                    <span>
                      {step.amounts.length === 0 ? (
                        <strong>{step.instruction}</strong>
                      ) : (
                        step.amounts.map((amount) => (
                          <span key={amount.name} className="card-amount">
                            <strong>{amount.text}</strong> {amount.name} <span className="soft">({amount.exact})</span>
                            {amount.advice && <span className="soft"> {amount.advice}</span>}
                          </span>
                        ))
                      )}
                      <span className="soft card-reason">{step.reason}</span>
                    </span>
                  </label>
                </li>
              );
            })}
          </ol>
        </section>
      ))}
      <div className="no-print">
        <button
          type="button"
          disabled={ticks.length === 0}
          onClick={() => {
            setTicks([]);
            localStorage.removeItem(key);
          }}
        >
          Clear the ticks for the next tank
        </button>
      </div>
    </>
  );
}
