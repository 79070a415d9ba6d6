// What a live answer rests on: every value with its age, every source with what ails it.
import type { Input, LiveView } from './contract';
import { safe } from './svg';
import * as w from './words';

export function age(s: number | null): string {
  if (s === null || !Number.isFinite(s)) return 'never';
  if (s < 90) return `${Math.round(Math.max(0, s))} s`;
  if (s < 5400) return `${Math.round(s / 60)} min`;
  return s < 172800 ? `${Math.round(s / 3600)} h` : `${Math.round(s / 86400)} d`;
}

/** Of a day known only as one: the last that lies before this moment. */
export const dayBefore = (iso: string, zone: string) =>
  new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric', month: 'short', year: 'numeric' }).format(new Date(Date.parse(iso) - 1));

/** A moment in the suite's own time: "24 Oct, 16:05". */
export const clock = (iso: string, zone: string) =>
  new Intl.DateTimeFormat('en-GB', { timeZone: zone, day: 'numeric', month: 'short', hour: '2-digit', minute: '2-digit' }).format(new Date(iso));

export function valueOf(i: Input): string {
  const n = (x: number | null | undefined): x is number => typeof x === 'number';
  if (typeof i.value === 'boolean') return i.value ? 'yes' : 'no';
  if (n(i.value)) return String(i.value);
  if (n(i.value_m3_s)) return w.flow(i.value_m3_s);
  if (n(i.value_Pa)) return w.pressure(i.value_Pa);
  if (n(i.value_m)) return w.opening(i.value_m);
  if (n(i.value_m_s)) return `${w.speedFigure(i.value_m_s)} ${w.speedUnit()}`;
  if (n(i.value_ratio)) return `${Math.round(i.value_ratio * 100)} %`;
  if (n(i.value_K)) return `${(i.value_K - 273.15).toFixed(1)} °C`;
  if (n(i.value_si) && i.what === 'level') return w.litres(i.value_si);
  if (n(i.value_si) && i.what === 'resistivity') return `${(i.value_si / 1e4).toFixed(1)} MΩ cm`;
  return n(i.value_si) ? String(+i.value_si.toPrecision(4)) : 'no value';
}

const worst: Record<Input['age'], number> = { never: 0, bad: 1, frozen: 2, old: 3, fresh: 4 };
const says = (i: Input) => i.age === 'fresh' ? '' : i.age === 'bad' ? (i.quality ?? 'bad') : i.age;

/** The largest age of what the answer rests on: how old is what I look at? */
export function dataAge_s(view: LiveView): number | null {
  const ages = view.inputs.filter((i) => i.used && i.age === 'fresh').map((i) => i.age_s ?? Infinity);
  return ages.length ? Math.max(...ages) : null;
}

export function agesHtml(view: LiveView): string {
  const odd = view.inputs.filter((i) => i.age !== 'fresh').length;
  const rows = [...view.inputs].sort((a, b) => worst[a.age] - worst[b.age]);
  return (view.sources.some((s) => !s.connected || s.why) ? `<ul class="sources">${view.sources.filter((s) => !s.connected || s.why).map((s) =>
    `<li><b>${safe(s.name)}</b> ${s.connected ? '' : 'not connected'}${s.why ? `: ${safe(s.why)}` : ''}</li>`).join('')}</ul>` : '') +
    `<details id="rests"><summary>${w.rests(view.inputs.length - odd, view.inputs.length)}</summary>` +
    `<table class="ages"><thead><tr><th scope="col">of</th><th scope="col">what</th><th scope="col">value</th><th scope="col">age</th></tr></thead><tbody>` +
    rows.map((i) => `<tr class="${i.age}"><th scope="row">${safe(i.of || 'suite')}</th><td>${safe(i.what)}${i.over ? ` over ${safe(i.over)}` : ''}</td>` +
      `<td>${i.age === 'fresh' ? safe(valueOf(i)) : `<s>${safe(valueOf(i))}</s> <b>${safe(says(i))}</b>`}</td><td>${age(i.age_s)}</td></tr>`).join('') +
    '</tbody></table></details>' +
    (view.record.kept ? `<p class="quiet">Record: entry ${view.record.head}${view.record.head_hash ? `, ${safe(view.record.head_hash.slice(0, 12))}` : ''}</p>`
      : `<p class="odd">Nothing is being kept${view.record.why ? `: ${safe(view.record.why)}` : ''}.</p>`);
}
