import { TableHold } from '@/app/_ui/table-hold';
import type { TrialLayout } from '@/lib/diary/trials';
import type { UnitSystem } from '@/lib/units/display';

/** Stakes' coordinates: one row a strip, its left and right edge and its near and far end, from the near-left stake. */
export function StakeTable({ layout, system }: { layout: TrialLayout; system: UnitSystem }) {
  const [unit, perMetre] = system === 'metric' ? ['m', 1] : ['ft', 1 / 0.3048];
  const show = (metres: number) => (metres * perMetre).toFixed(2);
  return (
    <TableHold label="Stakes">
      <table>
        <caption>In {unit} from the near-left stake</caption>
        <thead>
          <tr>
            <th>Strip</th>
            <th className="number">left edge</th>
            <th className="number">right edge</th>
            <th className="number">near end</th>
            <th className="number">far end</th>
          </tr>
        </thead>
        <tbody>
          {layout.strips.map((strip) => {
            const [xs, ys] = [strip.cornersM.map(([x]) => x), strip.cornersM.map(([, y]) => y)];
            return (
              <tr key={strip.plotId}>
                <td>{strip.label}</td>
                <td className="number">{show(Math.min(...xs))}</td>
                <td className="number">{show(Math.max(...xs))}</td>
                <td className="number">{show(Math.min(...ys))}</td>
                <td className="number">{show(Math.max(...ys))}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </TableHold>
  );
}
