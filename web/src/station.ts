// The page of a tablet at a station: one line from afar, reason and next step close by, and the card.
import { Asker } from './asker';
import { cardHtml } from './card';
import { byId, type Air, type LiveView, type PlanStation } from './contract';
import { $, put, say } from './dom';
import { age, clock, dataAge_s } from './ages';
import { ByHand } from './by_hand';
import { ErrandHere, errandAt } from './errand';
import { Live, type Seen } from './live';
import { ReadyHere } from './ready';
import { arcminOf, capitalShare, largest, pitch_mm, readSight, sightWords, type Sight } from './sight';
import { hearStop, isStopped } from './restart';
import { alarm, asked as askedHere, benchHere, notKnown, startHere, stoppedHere, withdrawnHere, type StartHere } from './start_here';
import { linked, safe, stateShape } from './svg';
import * as w from './words';

const usual: Sight = { distance_m: 5, screen_in: 10.1 };
const cross = '<path class="sh-line" d="M14 14 86 86M86 14 14 86"/>';

// "/station/S3" or "/station?station=S3".
export function stationOf(path: string, search: string): string {
  const last = /^\/station\/([A-Za-z][A-Za-z0-9_-]{0,31})$/.exec(path)?.[1];
  return last ?? new URLSearchParams(search).get('station') ?? '';
}

// The question behind "not now": what would make room, were this sash at work and stayed there.
const atWork = (id: string): [string, string][] => [['sash', `${id}=work`], ['blocked', id]];

// The line as large as its share of the screen lets it be; where that is too small for the distance, it says so.
function fit(sight: Sight, share: number): void {
  const line = $('line'), root = document.documentElement;
  const fits = (px: number) => {
    root.style.setProperty('--f', `${px}px`);
    return line.scrollHeight <= window.innerHeight * share && line.scrollWidth <= line.clientWidth;
  };
  const px = largest(22, Math.round(Math.min(window.innerHeight * 0.4, window.innerWidth * 0.3)), fits);
  const capital_mm = px * capitalShare(line) * pitch_mm(sight.screen_in, window.innerWidth, window.innerHeight);
  say('sight', sightWords(sight, capital_mm).text.replace('smallest capitals', 'the line: capitals'));
  root.dataset.arcmin = arcminOf(capital_mm, sight.distance_m).toFixed(2);
}

export function showStation(): void {
  const id = stationOf(location.pathname, location.search), sight = readSight(location.search, usual);
  let withIt: Air | null = null, fitted = '', asked = '';
  const byHand = new ByHand(id), errandHere = new ErrandHere(id), readyHere = new ReadyHere(id);
  w.useSystem(w.systemOf(location.search));
  $<HTMLAnchorElement>('to-tell').href = `/tell?at=${encodeURIComponent(id)}`;
  $<HTMLAnchorElement>('to-baths').href = `/baths?station=${encodeURIComponent(id)}`;
  for (const page of ['round', 'run']) $<HTMLAnchorElement>(`to-${page}`).href = `/${page}?station=${encodeURIComponent(id)}`;
  $<HTMLAnchorElement>('to-may').href = `/may?station=${encodeURIComponent(id)}`;
  $<HTMLAnchorElement>('to-bath').href = `/bath?station=${encodeURIComponent(id)}`;
  const second = new Asker<Air>('/api/air', (outcome) => { withIt = outcome.value ?? null; live.again(); });
  const live: Live = new Live((seen) => {
    if (seen.view) { hearStop(seen.view); readyHere.ask(); }
    const now = seen.air && !seen.silent && seen.plan && byId(seen.plan.stations, id) ? live.search(atWork(id)) : '';
    if (now && now !== asked) { asked = now; second.ask(now); }
    const lost = draw(seen, id, withIt, readyHere), s = seen.plan ? byId(seen.plan.stations, id) : undefined;
    errandHere.show(s && !lost ? errandAt(seen.view, id) : undefined);
    readyHere.show(lost || !seen.view);
    if (s) byHand.show(lost ? null : seen.view, s);
    const drawn = `${$('line').textContent}|${window.innerWidth}x${window.innerHeight}`;
    if (drawn !== fitted) { fit(sight, lost ? 0.62 : errandAt(seen.view, id) ? 0.3 : 0.4); fitted = drawn; }
  });
  byHand.again = errandHere.again = readyHere.again = () => live.again();
  window.addEventListener('resize', () => live.again());
  Object.assign(window, { inward: { settled: () => live.settled && (asked === '' || second.answered > 0 && !second.busy) && (!live.following || readyHere.settled) } });
}

// An id is read as one word: FH-03 does not break at its hyphen, unless it is as long as a line.
const whole = (line: string) => safe(line).replace(/[^\s:]*-[^\s:]*/g, (id) => id.length > 14 ? id : `<span class="id">${id}</span>`);

function drawAnswer(now: StartHere, lost: boolean): void {
  document.body.className = `station ${now.level}${lost ? ' lost' : ''}${now.ask ? ' asked' : ''}`;
  put('line', whole(now.line));
  say('state', now.word);
  $('act-shape').setAttribute('class', `mk ${now.level}`);
  put('act-shape', now.level === 'out' ? cross : stateShape[now.level]!);
  put('why', now.why.map((t) => `<p>${safe(t)}</p>`).join(''));
  put('next', now.next.map((t) => `<p>${linked(t)}</p>`).join(''));
}

// No such station: said plainly, with those there are.
function drawUnknown(seen: Seen, id: string): void {
  document.body.className = 'station not_known unknown';
  put('line', whole(w.start.none(id)));
  say('state', w.levelWord.not_known);
  put('act-shape', stateShape.not_known!);
  put('why', `<p>${safe(w.start.noneWhy(id))}</p>`);
  put('next', `<p><a class="big" href="/stations">${w.start.others}</a></p>`);
  put('card', '');
  $('live').hidden = true;
  say('who', id);
  say('name', '');
  say('age', w.words.age(seen.age_s));
}

// Where nothing is asked nothing is said of lowering: it was done, cannot be, or somebody else is asked.
const notAsked = (air: Air, id: string): Air =>
  ({ ...air, lower_first: { ...air.lower_first, ends_short: air.lower_first.ends_short.filter((l) => l.station !== id) } });

// A building's alarm and the station's own come before any advice.
function hereNow(seen: Seen, s: PlanStation, withIt: Air | null, ready: ReadyHere): StartHere {
  const now = seen.view ? byId(seen.view.stations, s.id) : undefined;
  if (seen.view?.building_alarm) return alarm(w.start.buildingAlarm, s);
  if (now?.own_alarm) return alarm(w.start.ownAlarm(s.id), s);
  const bench = seen.view?.alarms.find((a) => a.about === s.id && a.is_so && (a.when === 'leak' || a.when === 'deck flow'));
  if (bench) return benchHere(s, bench);
  if (seen.view && isStopped(s.id)) return stoppedHere(s);
  if (s.in_service && now?.withdrawn) return withdrawnHere(seen.plan!, s, now.condition.text);
  if (now && !now.known) return notKnown(now.why ?? w.start.notKnownWhy);
  const errand = errandAt(seen.view, s.id);
  if (errand) return askedHere(s, errand);
  const air = startHere(seen.plan!, s, seen.view ? notAsked(seen.air!, s.id) : seen.air!, seen.there && byId(seen.there.stations, s.id), withIt);
  return seen.view ? ready.join(seen.plan!, s, air, now?.sash === 'raised') : air;
}

// How it stands, as the board believes of now: beside the answer, never instead of it.
const inUse = new Set(['parked', 'working', 'open and unattended', 'blocked sash']);
function stands(view: LiveView | null | undefined, id: string): string[] {
  const c = view && byId(view.stations, id)?.condition;
  return c && inUse.has(c.is) ? [w.start.standsAs(c.is, c.text, c.age_s === null ? '' : age(c.age_s))] : [];
}

// What people told of a run here, in one line: it needs its flow, and somebody knows of it.
function drawRun(view: LiveView | null | undefined, id: string, lost: boolean): void {
  const run = lost ? undefined : view?.runs?.find((r) => r.station === id);
  const end = run && (run.over ? run.cold : run.until);
  $('run-line').hidden = !run;
  say('run-line', run ? w.run.line(w.run.phase[run.phase] ?? run.phase, w.run.until(run.phase, end ? clock(end, view!.zone) : w.run.notKnown), run.call) : '');
}

function draw(seen: Seen, id: string, withIt: Air | null, ready: ReadyHere): boolean {
  const { plan, air } = seen, s = plan ? byId(plan.stations, id) : undefined;
  if (plan) {
    document.title = `${id} · ${plan.name}`;
    say('suite', plan.name);
    say('label', plan.label ?? '');
    $('label').hidden = !plan.label;
    if (!s && !seen.silent) { drawUnknown(seen, id); return true; }
  }
  const lost = !s || !air || seen.silent || seen.refusal !== null;
  say('who', id);
  say('name', s?.name ?? '');
  const now = lost ? notKnown(seen.silent ? w.words.silent(seen.age_s) : seen.refusal ? w.words.refused(seen.refusal) : w.far.waiting)
    : hereNow(seen, s!, withIt, ready);
  drawAnswer(lost ? now : { ...now, why: [...now.why, ...stands(seen.view, id)] }, lost);
  say('live', lost ? '' : seen.view ? w.far.live(seen.view.now_local, dataAge_s(seen.view) === null ? '' : age(dataAge_s(seen.view)), seen.view.replay_speed)
    : w.far.notLive(seen.scene, seen.imagined));
  $('live').hidden = lost;
  say('age', seen.silent ? w.words.silent(seen.age_s) : w.words.age(seen.age_s));
  drawRun(seen.view, id, lost);
  if (s) put('card', cardHtml(s, byId(plan!.rooms, s.room)?.name ?? s.room));
  return lost;
}
