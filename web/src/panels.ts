// The words beside the plan: what to lower, what is left, why, what a trial changes.
import { alwaysOn, byId, running, type Air, type Level, type Lower, type Plan, type PlanStation, type Scene } from './contract';
import { stoppedAct } from './restart';
import { linked, mark, safe } from './svg';
import { clampOpening, stationLines, stationOpen } from './plan';
import { keepsHtml, poolCm, stationSureHtml, type Cm } from './sure';
import { changed, type Trial } from './trial';
import * as w from './words';

function lowerList(plan: Plan, title: string, list: Lower[], numbered: boolean): string {
  if (!list.length) return '';
  return `<h3>${safe(title)}</h3><${numbered ? 'ol' : 'ul'} class="lower">` + list.map((l) =>
    `<li><b>${safe(l.station)}</b> <span>${safe(w.lowerTo(plan, l))}, ${safe(w.words.frees(w.flow(l.frees_m3_s)))}</span>` +
    `<span class="then">${mark(l.state_after)} ${safe(w.words.then(l.state_after))}</span></li>`).join('') + `</${numbered ? 'ol' : 'ul'}>`;
}

export function helpHtml(plan: Plan, air: Air): string {
  if (stoppedAct()) return `<p><b>${w.start.stoppedAir}</b></p><p>${linked(w.start.stoppedNext)}</p>`; // no air is for work that nobody released
  const ends = air.lower_first.ends_short, reaches = air.lower_first.reaches_ample;
  if (air.state === 'ample') return `<p class="quiet">${w.words.nothingToLower}</p>`;
  const reason = air.lower_first.ends_short_why ?? air.lower_first.reaches_ample_why;
  const why = reason ? `<p>${safe(reason[0]!.toUpperCase() + reason.slice(1))}.</p>` : '';
  if (!ends.length && !reaches.length) return `${why || `<p>${w.words.noList}</p>`}<p class="quiet">${w.words.ask}</p>`;
  return lowerList(plan, w.words.endsShort, ends, true) + lowerList(plan, w.words.reachesAmple, reaches, true) + why + `<p class="quiet">${w.words.ask}</p>`;
}

export function poolsHtml(air: Air, plan: Plan, cm: Cm): string {
  const name = (id: string) => byId(plan.mains, id)?.name ?? byId(plan.supplies, id)?.name ?? id;
  return `<table class="pools"><thead><tr><th scope="col">pool</th><th scope="col">asked</th><th scope="col">can give</th><th scope="col">left</th></tr></thead>` +
    air.pools.map((p) => `<tbody class="${p.state}"><tr><th scope="row">${mark(p.state)} ${safe(name(p.id))}</th><td data-is="asked">${safe(w.flow(p.demand_m3_s))}</td>` +
      `<td data-is="can give">${safe(w.flow(p.capacity_m3_s))}</td><td data-is="left"><b>${safe(w.flow(p.headroom_m3_s))}</b> <span class="give">${w.give(p.headroom_pm_m3_s)}</span></td></tr>` +
      `<tr class="sub"><td colspan="4"><span class="word">${w.levelWord[p.state]}</span> ${safe(stoppedAct() ? w.start.stoppedPool : w.words.more(p.more_guaranteed, p.more_best, p.more_perhaps ?? null))}` +
      `${safe(w.missedOdds(p.odds))}${p.binding ? `. Limit: ${safe(w.said(p.binding))}` : ''}${sentence(poolCm(p.id, cm))}` +
      `${p.declared ? `; declared by the suite: ${safe(w.levelWord[p.declared.state] ?? '')}` : ''}</td></tr></tbody>`).join('') + '</table>';
}

const sentence = (text: string) => text ? `. ${safe(text)}` : '';

const reasonList = (air: Air) => stoppedAct() && !air.reasons.length ? `<p class="quiet">${w.start.stoppedWhy}</p>` : air.reasons.length
  ? `<ul class="reasons">${air.reasons.map((r) => `<li>${safe(w.said(r))}</li>`).join('')}</ul>`
  : `<p class="quiet">${w.words.noReason}</p>`;

// How far it may be off, and what would mend that: one line, the rest folded away.
function doubtHtml(air: Air): string {
  const narrow = air.narrow ?? [], cannot = air.cannot ?? [], first = narrow[0];
  return (first ? `<p class="weakest">${safe(w.words.weakest(w.said(first.input)))}</p><details data-key="narrow"><summary>${w.words.narrowHead}</summary><ol>` +
    narrow.map((n) => `<li>${safe(w.said(n.input))}${n.find ? `: ${safe(n.find)}` : ''}</li>`).join('') + '</ol></details>' : '') +
    (cannot.length ? `<details data-key="cannot"><summary>${w.words.cannotHead}</summary><ul>${cannot.map((c) => `<li>${safe(c)}</li>`).join('')}</ul></details>` : '');
}

export function whyHtml(plan: Plan, air: Air, told: boolean): string {
  return reasonList(air) + doubtHtml(air) + (told ? keepsHtml(plan, air) : '') +
    `<details data-key="assumed"><summary>${air.assumed.length === 1 ? '1 thing' : `${air.assumed.length} things`} assumed</summary><ul>${air.assumed.map((a) => `<li>${safe(w.said(a))}</li>`).join('')}</ul></details>`;
}

// ---- what a trial changes, beside the scene it started from ----

interface Change { what: string; from: string; to: string; level?: Level }

function differences(was: Air, now: Air): Change[] {
  const list: Change[] = [];
  const add = (what: string, from: string, to: string, level?: Level) => { if (from !== to) list.push({ what, from, to, level }); };
  add('act', was.act, now.act);
  add('air', w.levelWord[was.state], w.levelWord[now.state], now.state);
  now.pools.forEach((p) => add(`${p.id}: left`, w.flow(byId(was.pools, p.id)?.headroom_m3_s ?? null), w.flow(p.headroom_m3_s)));
  now.rooms.forEach((r) => r.keeps.forEach((k, i) => {
    const before = byId(was.rooms, r.id)?.keeps[i];
    add(`${r.id} over ${k.over}`, w.pressure(before?.actual_Pa ?? null), w.pressure(k.actual_Pa) + (k.met === false ? ' missed' : ''));
  }));
  now.fans.forEach((f) => add(`${f.id}: running`, String(running(byId(was.fans, f.id) ?? f)), String(running(f))));
  now.stations.forEach((s) => {
    const before = byId(was.stations, s.id);
    const one = (x: Air['stations'][0] | undefined) => [w.opening(x?.opening_m ?? null), w.flow(x?.flow_m3_s ?? null)].filter(Boolean).join(', ');
    add(s.id, one(before), one(s) + (s.criterion?.met === false && before?.criterion?.met !== false ? ' misses its criterion' : ''));
  });
  return list;
}

export function changesHtml(was: Air, now: Air): string {
  const list = differences(was, now);
  if (!list.length) return `<p class="quiet">${w.words.same}</p>`;
  return `<table class="changes"><thead><tr><th scope="col"></th><th scope="col">scene</th><th scope="col">trial</th></tr></thead><tbody>` +
    list.map((c) => `<tr><th scope="row">${safe(c.what)}</th><td>${safe(c.from)}</td><td><b>${safe(c.to)}</b></td></tr>`).join('') + '</tbody></table>';
}

// ---- hands: buttons for everything the plan can do ----

const button = (attrs: string, label: string, pressed?: boolean, disabled = false) =>
  `<button type="button" ${attrs}${pressed === undefined ? '' : ` aria-pressed="${pressed}"`}${disabled ? ' disabled' : ''}>${label}</button>`;

export function tryHtml(plan: Plan, air: Air, scene: Scene, trial: Trial, selected: string | null, openings: Map<string, number>, uncovered: Air | null, cm: Cm): string {
  const s = selected ? byId(plan.stations, selected) : undefined;
  const pick = `<select id="pick" aria-label="Station">` + (s ? '' : `<option value="" selected>${w.words.pick}</option>`) +
    plan.stations.map((p) => `<option value="${p.id}"${p.id === selected ? ' selected' : ''}>${p.id} ${safe(p.name)}</option>`).join('') + '</select>';
  return (s ? sashRow(s.id, pick, plan, air, scene, openings, deckRow(s, air, scene, trial, uncovered)) + stationSureHtml(byId(air.stations, s.id), cm) : `<div class="try-row">${pick}</div><p class="try-now">${w.words.pickHint}</p>`) +
    `<div class="try-row wrap" role="group" aria-label="Doors, fans, supply">` +
    plan.doors.map((d) => { const is = byId(air.doors, d.id)?.open === true; return toggle('door', d, is ? 'open' : 'shut', is, is !== scene.doors_open.includes(d.id)); }).join('') +
    plan.fans.map((f, i) => { const r = running(byId(air.fans, f.id) ?? { running: 0 }); return toggle('fan', f, `${r}/${f.count}`, r > 0, r !== scene.fans_running[i]); }).join('') +
    plan.supplies.map((u) => { const on = byId(air.supplies, u.id)?.running !== false; return toggle('supply', u, on ? 'on' : 'off', on, on === scene.supplies_off.includes(u.id)); }).join('') + '</div>';
}

const toggle = (act: string, part: { id: string; name: string }, says: string, pressed: boolean, odd: boolean) =>
  button(`data-act="${act}" data-of="${part.id}" title="${safe(part.name)}"${odd ? ' data-odd' : ''}`, `${part.id} ${says}`, pressed);

function sashRow(id: string, pick: string, plan: Plan, air: Air, scene: Scene, openings: Map<string, number>, deck: { row: string; why: string }): string {
  const s = byId(plan.stations, id)!, now = byId(air.stations, id);
  const opening = openings.get(id) ?? now?.opening_m ?? null, open = stationOpen(s, opening, now);
  const lines = stationLines(s, now, byId(scene.stations, id), opening, open).filter(Boolean);
  const atWork = open && (opening === null || s.work_m === null || Math.abs(opening - s.work_m) < 0.005);
  const step = (act: string, label: string, by: number, name: string) =>
    button(`data-act="${act}" data-of="${id}" aria-label="${name}"`, label, undefined, clampOpening(s, opening! + by) === opening);
  const buttons = alwaysOn(s, now) ? '' : button(`data-act="parked" data-of="${id}"`, 'down', !open) + button(`data-act="work" data-of="${id}"`, 'work', atWork) +
    (s.most_m === null || opening === null ? '' : step('less', '\u2212 1 cm', -0.01, '1 cm lower') + step('more', '+ 1 cm', 0.01, '1 cm higher') +
      `<b class="opening-now">${safe(w.opening(opening))}</b>`);
  return `<div class="try-row" role="group" aria-label="Sash of ${id}">${pick}${buttons}</div>` +
    `<div class="try-row"><p class="try-now">${safe(lines.join(' \u00b7 '))}</p>${deck.row}</div>${deck.why}`;
}

// What covering does to the face, beside the same trial with the deck open.
function deckEffect(s: PlanStation, now: Air['stations'][0] | undefined, before: Air['stations'][0] | undefined): string {
  const from = before?.face_velocity_m_s, to = now?.face_velocity_m_s, c = s.criterion;
  if (from == null || to == null) return '';
  const judged = c && c.of !== 'flow', one = (x: number) => `${w.speedFigure(x)} ${w.speedUnit()}`;
  const beyond = judged && c.high !== null && to > c.high ? w.words.above(one(c.high)) : judged && c.low !== null && to < c.low ? w.words.below(one(c.low)) : '';
  return w.words.deckEffect(one(from), one(to), beyond);
}

function deckRow(s: PlanStation, air: Air, scene: Scene, trial: Trial, uncovered: Air | null): { row: string; why: string } {
  if (s.deck_ratio <= 0) return { row: '', why: '' };
  const cover = Number((changed(trial, 'cover', s.id) ?? String(100 * (byId(scene.stations, s.id)?.cover_ratio ?? 0))).replace('%', ''));
  const effect = cover > 0 && uncovered ? deckEffect(s, byId(air.stations, s.id), byId(uncovered.stations, s.id)) : '';
  const row = `<div class="deck-row" role="group" aria-label="Deck of ${s.id} covered"><span>${w.words.deckCovered}</span>` +
    [0, 30, 60, 100].map((p) => button(`data-act="cover" data-of="${s.id}" data-to="${p}"`, `${p} %`, Math.round(cover) === p)).join('') + '</div>';
  return { row, why: cover > 0 ? `<p class="deck-why" id="deck-why"><b>${safe(effect)}</b> ${safe(w.words.deckWhy)}</p>` : '' };
}

// ---- the same stations as a list, for narrow screens, for paper, for screen readers ----

export function listHtml(plan: Plan, air: Air, scene: Scene, openings: Map<string, number>): string {
  return `<table class="stations"><thead><tr><th scope="col">station</th><th scope="col">opening</th><th scope="col">flow</th><th scope="col">face</th></tr></thead><tbody>` +
    plan.stations.map((s) => {
      const now = byId(air.stations, s.id), opening = openings.get(s.id) ?? now?.opening_m ?? null, open = stationOpen(s, opening, now);
      const [first, flow, face, ...notes] = stationLines(s, now, byId(scene.stations, s.id), opening, open);
      return `<tr class="${open ? 'open' : ''}"><th scope="row"><button type="button" data-act="select" data-of="${s.id}">${s.id}</button></th>` +
        `<td>${safe(first)}</td><td>${safe(flow)}</td><td>${safe(face)}<span class="sub">${safe(notes.filter(Boolean).join(', '))}</span></td></tr>`;
    }).join('') + '</tbody></table>';
}
