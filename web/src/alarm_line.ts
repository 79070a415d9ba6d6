// The first alarm that needs a person now, in a line: for the pages that do not list them.
import type { Alarm, LiveView } from './contract';
import { safe } from './svg';
import * as w from './words';

/** Those that are so and that nobody has put aside. */
export const standing = (view: LiveView): Alarm[] => view.alarms.filter((a) => a.is_so && a.state !== 'shelved');

export const rank = (a: Alarm): string => `<span aria-hidden="true">${w.alarms.shape[a.priority]}</span> ${a.priority.toUpperCase()}`;

/** Empty where none is urgent or high. */
export function alarmLine(view: LiveView | null, before = ''): { line: string; more: string } {
  const all = view ? standing(view) : [], first = all.find((a) => a.priority !== 'low');
  if (!first) return { line: '', more: '' };
  const more = all.length > 1 ? w.alarms.andMore(all.length - 1) : '';
  return { line: `${safe(before)} <b class="rank ${first.priority}">${rank(first)}</b> ${safe(first.message)}${more && ' \u00b7'}`.trim(), more };
}
