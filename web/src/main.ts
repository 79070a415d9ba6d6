// The Air page: asks, shows, and lets a person try.  The address holds the
// trial; the server holds nothing.
import { ask, Asker } from './asker';
import { showLooks } from './findings';
import { alarmLine, standing } from './alarm_line';
import type { Cm } from './sure';
import { age, agesHtml, dataAge_s } from './ages';
import { byId, running, type Air, type LiveView, type PerCm, type Plan, type Scene } from './contract';
import { airOf, changesTo, liveId, sceneOf } from './now';
import { isPressed, watchPresses } from './dom';
import { clampOpening, PlanView, type Actions } from './plan';
import { moves, Play, stays, wayThere } from './play';
import { changesHtml, helpHtml, listHtml, poolsHtml, tryHtml, whyHtml } from './panels';
import { hearStop, stoppedAct } from './restart';
import { safe, stateShape } from './svg';
import { follow } from './stream';
import { change, readTrial, runFans, undo, writeTrial, type Trial } from './trial';
import * as w from './words';

const $ = <T extends Element = HTMLElement>(id: string): T => document.getElementById(id) as unknown as T;
const askEvery_ms = 2500, silentAfter_ms = 6500;

let plan: Plan, view: PlanView, play: Play;
let trial: Trial = readTrial(location.search);
let now: Air | null = null, baseline: Air | null = null, uncovered: Air | null = null, refusal: string | null = null;
let selected: string | null = null;
let heard_ms = Date.now();
let live: LiveView | null = null; // the newest; null where nothing is connected
let held: Scene | null = null;    // what was live when the trial beside it began

// ---- the trial ----

const home = () => live ? liveId : plan.start; // where "back" leads
const sceneId = () => trial.scene ?? home();
const scene = (): Scene => sceneId() === liveId && live ? held ?? sceneOf(live, plan) : byId(plan.scenes, sceneId()) ?? plan.scenes[0]!;
const isTrial = () => trial.changes.length > 0 || sceneId() !== home();
const following = () => live !== null && !isTrial();
// A question names a scene of the file: beside what is live it begins with the changes that lead there.
function question(changes: Trial['changes']): string {
  if (sceneId() !== liveId) return writeTrial({ scene: sceneId(), changes });
  const from = changesTo(scene(), plan);
  return writeTrial({ scene: from.scene, changes: [...from.changes, ...changes] });
}
const search = () => question(trial.changes);

function openings(): Map<string, number> {
  const map = new Map<string, number>();
  for (const [verb, argument] of trial.changes) {
    const [id, to] = argument.split('=') as [string, string | undefined];
    const s = byId(plan.stations, id);
    if (verb === 'all') plan.stations.forEach((p) => { const m = id === 'work' ? p.work_m : p.parked_m; if (m !== null) map.set(p.id, m); });
    if (verb !== 'sash' || !s) continue;
    const m = to === 'work' ? s.work_m : to === 'parked' ? s.parked_m : Number.parseFloat(to ?? '') * (/cm$/.test(to ?? '') ? 0.01 : 1);
    if (m !== null && Number.isFinite(m)) map.set(id, m);
  }
  return map;
}

const sceneOpenings = (): Map<string, number> =>
  new Map(scene().stations.flatMap((s) => s.opening_m === null ? [] : [[s.id, s.opening_m] as [string, number]]));

// The way from the scene to the trial: what does not move is so from the beginning.
const way = (back_s: number): string | null => moves(trial.changes) ? wayThere(question(stays(trial.changes)), trial.changes, scene(), plan, back_s) : null;

function covers(): Map<string, number> {
  const map = new Map(scene().stations.map((s) => [s.id, s.cover_ratio]));
  for (const [verb, argument] of trial.changes)
    if (verb === 'cover') map.set(argument.split('=')[0]!, Number.parseFloat(argument.split('=')[1] ?? '0') / 100);
  return map;
}

// The address says the trial and the units, so that it can be sent to a colleague.
function rewriteAddress(): void {
  const said = [isTrial() ? search() : '', w.system() === 'us' ? 'units=us' : ''].filter(Boolean).join('&');
  history.replaceState(null, '', said ? '?' + said : location.pathname);
}

let quietUrl: number | undefined;
function setTrial(next: Trial): void {
  if (live && !isTrial()) held = sceneOf(live, plan);
  trial = next;
  if (following()) {
    held = null;
    showLive();
  }
  // Browsers limit how often an address may be rewritten; a drag would pass the limit.
  window.clearTimeout(quietUrl);
  quietUrl = window.setTimeout(rewriteAddress, 120);
  if (!following()) answers.ask(search());
  askUncovered();
  play.follow();
  render();
}

const actions: Actions = {
  select(id) { selected = id; askUncovered(); render(); },
  sash(id, to) {
    selected = id;
    const base = byId(scene().stations, id), s = byId(plan.stations, id)!;
    const m = to === 'work' ? s.work_m : to === 'parked' ? s.parked_m : to;
    const same = m === null ? base?.raised === (to === 'work')
      : base !== undefined && base.opening_m !== null && Math.abs(m - base.opening_m) < 0.002;
    setTrial(same ? undo(trial, 'sash', id) : change(trial, 'sash', `${id}=${typeof to === 'number' ? `${to.toFixed(2)}m` : to}`));
  },
  door(id) {
    const base = scene().doors_open.includes(id), open = byId(now?.doors ?? [], id)?.open ?? base;
    setTrial(!open === base ? undo(trial, 'door', id) : change(trial, 'door', `${id}=${open ? 'closed' : 'open'}`));
  },
  // A running unit stops, a stopped one starts; which one of equal units does not matter to the air.
  fan(id, unit) {
    const index = plan.fans.findIndex((f) => f.id === id), base = scene().fans_running[index] ?? 0;
    const count = plan.fans[index]!.count, runs = running(byId(now?.fans ?? [], id) ?? { running: base });
    setTrial(runFans(trial, id, base, unit < runs ? Math.max(0, runs - 1) : Math.min(count, runs + 1), count));
  },
  supply(id) {
    const base = !scene().supplies_off.includes(id), runs = byId(now?.supplies ?? [], id)?.running ?? base;
    const cleared = undo(undo(trial, 'off', id), 'on', id);
    setTrial(!runs === base ? cleared : change(cleared, runs ? 'off' : 'on', id));
  },
};

// ---- asking ----

const answers = new Asker<Air>('/api/air', (outcome) => {
  if (following()) return;
  if (outcome.silent) return tick();
  heard_ms = Date.now();
  refusal = outcome.refusal ?? null;
  if (outcome.value) now = outcome.value;
  render();
});

const baselines = new Asker<Air>('/api/air', (outcome) => {
  if (outcome.value) { baseline = outcome.value; render(); }
});

// The same trial with the chosen deck open: what covering it does is the difference.
const uncovereds = new Asker<Air>('/api/air', (outcome) => {
  uncovered = outcome.value ?? null;
  render();
});
function askUncovered(): void {
  if (selected === null || !(covers().get(selected) ?? 0)) { uncovered = null; return; }
  uncovereds.ask(question(change(trial, 'cover', `${selected}=0%`).changes));
}

const health = new Asker<{ suite_sha256: string }>('/healthz', (outcome) => {
  if (outcome.value && outcome.value.suite_sha256 !== plan.suite_sha256) location.reload();
  if (following()) return; // the stream itself says whether it is there
  if (outcome.value && silent()) answers.ask(search());
  if (outcome.value) heard_ms = Date.now();
  tick();
}, 2000);

// What a centimetre is worth there is asked once nothing has moved for a moment, and shown of that scene only.
let cm: { search: string; value: PerCm | null } | null = null, cmAsked: string | null = null, cmQuiet: number | undefined;
const perCms = new Asker<PerCm>('/api/per-cm', (outcome) => {
  if (outcome.silent) { cmAsked = null; return; }
  cm = { search: outcome.search, value: outcome.value ?? null };
  render();
});
function perCm(): Cm {
  if (before() || stoppedAct() || !now?.sure) return null; // nothing is told of sashes then
  const at = search();
  if (at !== cmAsked) {
    cmAsked = at;
    window.clearTimeout(cmQuiet);
    cmQuiet = window.setTimeout(() => perCms.ask(at), 250);
  }
  return cm?.search === at ? cm.value : 'pending';
}

const silent = () => Date.now() - heard_ms > silentAfter_ms;

// ---- what is live ----

function showLive(): void {
  if (!live) return;
  now = baseline = airOf(live);
  refusal = null;
}

function hear(view: LiveView): void {
  const first = live === null;
  live = view;
  heard_ms = Date.now();
  if (first) fillScenes();
  if (following()) showLive();
  if (first && isTrial()) answers.ask(search());
  render();
}

// Nobody may read a figure of before as one of now.
const before = () => following() && live!.air === null;

function liveAge(): string {
  const data_s = dataAge_s(live!);
  return w.far.live(live!.now_local, data_s === null ? '' : age(data_s), live!.replay_speed);
}

function tick(): void {
  const age_s = Math.round((Date.now() - heard_ms) / 1000);
  const was = document.body.classList.contains('silent');
  document.body.classList.toggle('silent', silent());
  $('age').textContent = silent() ? w.words.silent(age_s) : following() ? liveAge() : `${w.words.notLive} \u00b7 ${w.words.age(age_s)}`;
  if (silent() || was !== silent()) renderAct();
}

// ---- showing ----

function put(id: string, html: string): void {
  const at = $(id);
  if ((at as { shown?: string }).shown === html || isPressed(at)) return;
  const focus = document.activeElement instanceof HTMLElement && at.contains(document.activeElement)
    ? [document.activeElement.id, document.activeElement.dataset.act, document.activeElement.dataset.of, document.activeElement.dataset.to] : null;
  const folded = focus && document.activeElement!.matches('summary') ? document.activeElement!.parentElement!.dataset.key : undefined;
  const open = [...at.querySelectorAll<HTMLDetailsElement>('details[open][data-key]')].map((d) => d.dataset.key);
  at.innerHTML = html;
  at.querySelectorAll<HTMLDetailsElement>('details[data-key]').forEach((d) => { d.open = open.includes(d.dataset.key); });
  (at as { shown?: string }).shown = html;
  if (folded) at.querySelector<HTMLElement>(`details[data-key="${folded}"] > summary`)?.focus();
  if (focus)
    at.querySelectorAll<HTMLElement>('button,select').forEach((e) => {
      if (e.id === focus[0] && e.dataset.act === focus[1] && e.dataset.of === focus[2] && e.dataset.to === focus[3]) e.focus();
    });
}

function renderAct(): void {
  const age_s = Math.round((Date.now() - heard_ms) / 1000);
  const lost = silent() || refusal !== null || !now;
  document.body.classList.toggle('stale', lost || before());
  const stop = lost || !following() || isTrial() || live?.building_alarm ? '' : stoppedAct();
  const level = stop ? 'short' : lost || (!now!.stations.length && !following()) ? 'not_known' : now!.state; // nobody to tell that air is ample
  const act = lost ? w.words.notKnown : now!.act;
  if ($('act').textContent !== act) $('act').textContent = act;
  $('act').style.setProperty('--letters', String(Math.max(10, act.length)));
  const note = silent() ? w.words.silent(age_s) : !lost && before() && live!.earlier ? w.words.earlier(age(live!.earlier.age_s)) : refusal ? w.words.refused(refusal) : w.words.sharedOnly;
  if ($('act-note').textContent !== note) $('act-note').textContent = note;
  $('state').textContent = stop ? w.start.stopped : w.levelWord[level];
  $('act-band').className = `act ${level}`;
  $('act-shape').setAttribute('class', `mk ${level}`);
  $('act-shape').innerHTML = stateShape[level]!;
  renderAlarm();
}

// It stays beside a trial, under whose finger nothing may jump; what is no longer heard is no alarm of now.
function renderAlarm(): void {
  if (!live) return; // a page in a file has neither
  const heard = silent() ? null : live;
  const alarm = alarmLine(heard, isTrial() ? w.alarms.beside : ''), stop = isTrial() && heard ? stoppedAct() : '', more = alarm.more;
  const line = stop ? `${w.alarms.beside} <b>${safe(stop)}</b>${alarm.line && ` \u00b7 ${alarm.line}`}` : alarm.line;
  put('alarm', line);
  $('alarm-line').hidden = !line;
  if ($('alarm-more').textContent !== more) $('alarm-more').textContent = more;
  $('alarm-more').hidden = !more;
  $('alarm-more').setAttribute('href', '/record');
  showLooks(heard);
  const record = w.alarms.record(heard ? standing(heard).length : 0), link = document.querySelector('.pages > [href="/record"]');
  if (link && link.textContent !== record) link.textContent = record;
}

function renderTrial(): void {
  const on = isTrial();
  $('trial').hidden = !on;
  document.body.classList.toggle('trying', on);
  const count = trial.changes.length;
  $('trial-what').textContent = count
    ? `${count} ${count === 1 ? 'change' : 'changes'} to ${w.words.sceneNamed(sceneId())}`
    : `${w.words.sceneNamed(sceneId())} instead of ${w.words.sceneNamed(home())}`;
  $('back').textContent = live ? w.trial.toNow : w.trial.toScene;
  $('h-why').textContent = on ? w.trial.changes(w.words.sceneNamed(home())) : w.trial.why;
}

function render(): void {
  if (!plan) return;
  ($('scene') as HTMLSelectElement).value = sceneId();
  renderTrial();
  renderAct();
  if (!now) return;
  const open = openings();
  view.show({ air: play.air(now, scene()), scene: scene(), openings: play.shown && !play.isChanged ? sceneOpenings() : open, covers: covers(), selected });
  put('help', helpHtml(plan, now));
  const worth = perCm();
  put('pools', poolsHtml(now, plan, worth));
  put('why', (isTrial() && baseline ? changesHtml(baseline, now) : '') + whyHtml(plan, now, !before()) + (following() ? agesHtml(live!) : ''));
  put('try', tryHtml(plan, now, scene(), trial, selected, open, uncovered, worth));
  const canPlay = moves(trial.changes) && !play.shown;
  $('play-open').toggleAttribute('disabled', !canPlay);
  put('list', listHtml(plan, now, scene(), open));
  put('foot', (following() ? `<span>${w.words.fromSources}</span>` : `<span>Scene <b>${safe(w.words.sceneName(sceneId()))}</b> ${w.words.fromFile}</span>`) +
    `<span>tier ${safe(now.tier)}</span><span>suite ${safe(now.suite_sha256.slice(0, 12))}</span><span>engine ${safe(now.engine)}</span>`);
}

function press(e: Event): void {
  const at = (e.target as Element).closest<HTMLElement>('[data-act]'), of = at?.dataset.of ?? '';
  const s = byId(plan.stations, of);
  const m = s ? openings().get(of) ?? byId(now?.stations ?? [], of)?.opening_m ?? s.parked_m ?? 0 : 0;
  switch (at?.dataset.act) {
    case 'parked': case 'work': return actions.sash(of, at.dataset.act);
    case 'less': return actions.sash(of, clampOpening(s!, m - 0.01));
    case 'more': return actions.sash(of, clampOpening(s!, m + 0.01));
    case 'door': return actions.door(of);
    case 'fan': return pressFan(of);
    case 'supply': return actions.supply(of);
    case 'select': actions.select(of); $('panel-try').scrollIntoView({ block: 'nearest' }); return;
    case 'cover': {
      const to = Number(at.dataset.to), base = byId(scene().stations, of)?.cover_ratio ?? 0;
      return setTrial(Math.abs(base * 100 - to) < 0.5 ? undo(trial, 'cover', of) : change(trial, 'cover', `${of}=${to}%`));
    }
  }
}

// The button steps down to none running, then round to all of them.
function pressFan(id: string): void {
  const index = plan.fans.findIndex((f) => f.id === id), base = scene().fans_running[index] ?? 0;
  const count = plan.fans[index]!.count, runs = running(byId(now?.fans ?? [], id) ?? { running: base });
  setTrial(runFans(trial, id, base, runs > 0 ? runs - 1 : Math.max(base, 1), count));
}

function wire(): void {
  $('try').addEventListener('click', press);
  $('list').addEventListener('click', press);
  $('try').addEventListener('change', (e) => { if ((e.target as HTMLElement).id === 'pick') actions.select((e.target as HTMLSelectElement).value || null); });
  $('play-open').addEventListener('click', () => { play.start(); $('play').scrollIntoView({ block: 'nearest' }); });
  $('back').addEventListener('click', () => setTrial({ scene: null, changes: [] }));
  $('scene').addEventListener('change', () => setTrial({ scene: ($('scene') as HTMLSelectElement).value === liveId ? null : ($('scene') as HTMLSelectElement).value, changes: [] }));
  $('units').addEventListener('click', () => { showUnits(w.system() === 'us' ? 'si' : 'us'); rewriteAddress(); view.rebuild(); render(); });
  window.addEventListener('popstate', () => { trial = readTrial(location.search); setTrial(trial); });
  new ResizeObserver(() => view.resize()).observe($('plan-box'));
  watchPresses(() => { view.released(); render(); });
}

function fillScenes(): void {
  const ids = [...(live ? [liveId] : []), ...plan.scenes.map((s) => s.id)];
  $('scene').innerHTML = ids.map((id) => `<option value="${safe(id)}">${safe(w.words.sceneName(id))}</option>`).join('');
}

function showUnits(system: w.System): void {
  w.useSystem(system);
  $('units').setAttribute('aria-pressed', String(system === 'us'));
}

async function start(): Promise<void> {
  try {
    const reply = await ask('/api/plan', '');
    if (!reply.ok) throw new Error(`no plan: ${reply.status}`);
    plan = reply.body as Plan;
  } catch {
    $('act').textContent = w.words.notKnown;
    window.setTimeout(() => void start(), 3000);
    return;
  }
  document.title = `${document.body.dataset.lead ?? ''}Air · ${plan.name}`;
  $('suite').textContent = plan.name;
  $('label').textContent = plan.label ?? '';
  $('label').hidden = !plan.label;
  fillScenes();
  showUnits(w.systemOf(location.search));
  view = new PlanView($('plan-box'), $('plan-beyond'), plan, actions);
  play = new Play(plan, way, () => { view.resize(); render(); });
  wire();
  await follow(({ view }) => { if (view) { hearStop(view); hear(view); } else { heard_ms = Date.now(); tick(); } }, () => {
    baselines.ask(writeTrial({ scene: plan.start, changes: [] }));
    answers.ask(search());
  });
  askUncovered();
  render();
  window.setInterval(() => health.ask(''), askEvery_ms);
  window.setInterval(tick, 500);
  // For tests: what was asked and what came back.
  Object.assign(window, { inward: { counts: () => following() ? { sent: 1, answered: 1, busy: false } : { sent: answers.sent, answered: answers.answered, busy: answers.busy } } });
}

void start();
