// How sure the figures of a station and a keep are, by which figures of the file, and what a centimetre of a
// sash is worth: a few quiet lines, the causes on request.
import { byId, type Air, type Cause, type PerCm, type Plan, type Station } from './contract';
import { safe } from './svg';
import * as w from './words';

export type Cm = PerCm | 'pending' | null; // null: not to be told

const least_m3_s = 0.5 / 3600, least_Pa = 0.05; // less is not shown

function causesHtml(causes: Cause[]): string {
  return causes.length ? `<ol>${causes.map((c) => `<li>${safe(w.sure.find(w.said(c.input), `${Math.round(c.share_ratio * 100)} %`, c.find))}</li>`).join('')}</ol>`
    : `<p>${w.sure.noCauses}</p>`;
}

// ---- a station ----

// Pools that lose the same are named together.
function costs(pools: PerCm['stations'][0]['pools']): string {
  const by = new Map<string, string[]>();
  for (const p of pools)
    if (p.headroom_m3_s !== null && p.headroom_m3_s <= -least_m3_s) {
      const flow = w.flowOfCm(-p.headroom_m3_s);
      by.set(flow, [...by.get(flow) ?? [], p.id]);
    }
  return [...by].map(([flow, ids]) => w.sure.costs(ids.join(', '), flow)).join('; ');
}

function cmLine(id: string, cm: Cm): string {
  if (cm === 'pending') return w.sure.pending;
  const s = cm ? byId(cm.stations, id) : undefined;
  if (!s || s.why !== null || s.asks_m3_s === null) return '';
  if (s.asks_m3_s === 0) return w.sure.cmNothing;
  const keeps = s.keeps.filter((k) => k.pressure_Pa !== null && Math.abs(k.pressure_Pa) >= least_Pa).map((k) => `${k.room} over ${k.over} ${w.pressure(k.pressure_Pa)}`);
  return w.sure.cm(w.flowOfCm(s.asks_m3_s), [costs(s.pools), ...keeps].filter(Boolean).join('; '));
}

/** Of the station that is chosen; nothing where its \u00b1 was not worked out. */
export function stationSureHtml(now: Station | undefined, cm: Cm): string {
  const give = w.give(now?.flow_pm_m3_s), odds = now?.criterion?.odds;
  if (!now || !give) return '';
  const judged = odds && odds.met_ratio !== null;
  const first = [`${w.flow(now.flow_m3_s)} ${give}`, judged ? w.sure.criterion(odds) : ''].filter(Boolean).join('; ');
  const cause = judged ? odds.causes[0] : undefined, line = cmLine(now.id, cm);
  return `<div class="how-sure" id="how-sure"><p>${safe(first)}</p>${line ? `<p>${safe(line)}</p>` : ''}` +
    (cause ? `<details data-key="from:${safe(now.id)}"><summary>${safe(w.sure.from(w.said(cause.input)))}</summary>${causesHtml(odds!.causes)}</details>` : '') + '</div>';
}

// ---- a pool ----

/** Of which raised sash a centimetre costs that pool most. */
export function poolCm(pool: string, cm: Cm): string {
  if (cm === 'pending') return w.sure.mostPending;
  const all = (cm?.stations ?? []).map((s) => ({ id: s.id, cost: -(byId(s.pools, pool)?.headroom_m3_s ?? 0) }));
  const most = Math.max(0, ...all.map((s) => s.cost));
  return most < least_m3_s ? '' : w.sure.most(all.filter((s) => most - s.cost < least_m3_s).map((s) => s.id).join(', '), w.flowOfCm(most));
}

// ---- keeps ----

/** Each keep with how likely it is missed, its causes on request; those in no doubt are folded away. */
export function keepsHtml(plan: Plan, air: Air): string {
  const rows = air.rooms.flatMap((r) => r.keeps.map((k, i) => ({ room: r.id, k, i }))).filter((row) => row.k.odds);
  const name = (id: string) => byId(plan.rooms, id)?.name ?? id;
  const html = (row: typeof rows[0]) =>
    `<details data-key="keep:${safe(row.room)}:${row.i}"><summary>${safe(w.sure.keep(`${name(row.room)} over ${name(row.k.over)}`, w.pressure(row.k.actual_Pa), w.givePressure(row.k.actual_pm_Pa), row.k.odds))}</summary>${causesHtml(row.k.odds!.causes)}</details>`;
  const sure = rows.filter((row) => row.k.odds!.met_least_ratio != null && !w.sure.inDoubt(row.k.odds)), doubtful = rows.filter((row) => !sure.includes(row));
  return `<div id="keeps">${doubtful.map(html).join('')}` + (sure.length ? `<details data-key="keeps"><summary>${w.sure.keeps(sure.length, doubtful.length)}</summary>${sure.map(html).join('')}</details>` : '') + '</div>';
}
