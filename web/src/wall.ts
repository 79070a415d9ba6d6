// The page on the wall of the gowning room: the act, how many more of each pool, what to lower.
import type { Air, Lower, Plan, Pool } from './contract';
import { byId, type Level } from './contract';
import { $, put, say } from './dom';
import { age, dataAge_s } from './ages';
import { alarmLine } from './alarm_line';
import { Live, type Seen } from './live';
import { hearStop, stoppedAct } from './restart';
import { arcminOf, capitalShare, comfortArcmin, heightFor_mm, largest, pitch_mm, readSight, sightWords, type Sight } from './sight';
import { mark, safe, stateShape } from './svg';
import * as w from './words';

const usual: Sight = { distance_m: 5, screen_in: 55 };

const poolName = (plan: Plan, id: string) => byId(plan.mains, id)?.name ?? byId(plan.supplies, id)?.name ?? id;

// While the air is short nothing more may be opened, whatever is left in a pool beside it.
function poolHtml(plan: Plan, pool: Pool, short: boolean): string {
  const sure = pool.state === 'not_known' ? null : pool.more_guaranteed;
  const waits = short && pool.state !== 'short' && sure !== null;
  return `<li class="pool ${pool.state}">${mark(pool.state)}<b class="pool-name">${safe(poolName(plan, pool.id))}</b>` +
    `<span class="pool-more${waits ? ' waits' : ''}">${safe(waits ? w.wall.whileShort : w.wall.more(sure))}</span><span class="pool-state">${w.levelWord[pool.state]}</span></li>`;
}

function lowerHtml(plan: Plan, air: Air): string {
  const list = air.lower_first.ends_short.length ? air.lower_first.ends_short : air.lower_first.reaches_ample;
  if (!list.length && air.state === 'not_known') return `<b>${w.far.askStaff}</b>`;
  if (!list.length) return `<b>${safe(air.state === 'ample' ? w.words.nothingToLower : w.words.noList)}</b>`;
  const one = (l: Lower) => `${l.station} ${w.lowerTo(plan, l)}`;
  const last = list[list.length - 1]!;
  return `<b>${w.wall.lowerFirst} ${safe(list.map(one).join(', '))}</b> <span>${w.words.then(last.state_after)}</span>`;
}

// Pixels that never change burn in: the picture wanders, a little every minute, by the clock alone.
export function wander(now_ms: number): [number, number] {
  const step = Math.floor(now_ms / 60000), reach = 10;
  return [Math.round(reach * Math.cos(step * 2.4)), Math.round(reach * Math.sin(step * 1.7))];
}

// First the letters that must be read from afar, up to a comfortable size; then the act takes what is left.
function fit(sight: Sight): void {
  const room = $('far'), root = document.documentElement;
  const pixel_mm = pitch_mm(sight.screen_in, window.innerWidth, window.innerHeight), share = capitalShare($('shared'));
  const whole = (e: Element) => e.scrollWidth <= e.clientWidth + 1 && e.scrollHeight <= e.clientHeight + 1;
  const fits = (name: string) => (px: number) => {
    root.style.setProperty(name, `${px}px`);
    return whole(room) && [...room.querySelectorAll('.line, .pool, .act')].every(whole);
  };
  const comfortable = Math.max(12, Math.floor(heightFor_mm(sight.distance_m, comfortArcmin) / pixel_mm / share));
  root.style.setProperty('--act', '1px');
  const px = largest(10, comfortable, (f) => fits('--f')(f) && fits('--act')(Math.round(1.3 * f)));
  largest(Math.round(1.3 * px), Math.round(window.innerHeight / 2.5), fits('--act'));
  const words = sightWords(sight, px * share * pixel_mm);
  say('sight', words.text);
  $('sight').classList.toggle('too-small', !words.enough);
  root.dataset.arcmin = arcminOf(px * share * pixel_mm, sight.distance_m).toFixed(2);
}

export function showWall(): void {
  const sight = readSight(location.search, usual);
  let fitted = '';
  const live: Live = new Live((seen) => {
    if (seen.view) hearStop(seen.view);
    draw(seen);
    const [x, y] = wander(Date.now());
    document.body.style.setProperty('--x', `${x}px`);
    document.body.style.setProperty('--y', `${y}px`);
    const now = `${$('far').innerText}|${window.innerWidth}x${window.innerHeight}`;
    if (now !== fitted) { fit(sight); fitted = now; }
  });
  window.addEventListener('resize', () => { fit(sight); });
  Object.assign(window, { inward: { settled: () => live.settled } });
}

function draw(seen: Seen): void {
  const { plan, air } = seen;
  if (plan) {
    document.title = `Wall · ${plan.name}`;
    say('suite', plan.name);
    say('label', plan.label ?? '');
    $('label').hidden = !plan.label;
  }
  const lost = !plan || !air || seen.silent || seen.refusal !== null;
  const stop = lost || !seen.view || seen.view.building_alarm ? '' : stoppedAct(); // no air is for work that nobody released
  const level: Level = stop ? 'short' : lost || (!seen.view && !air!.stations.length) ? 'not_known' : air!.state;
  document.body.className = `wall ${level}${lost ? ' lost' : ''}`;
  say('act', lost ? w.words.notKnown.replace(': ', ':\n') : air!.act.replace(/ \u00b7 /g, '\n')); // a pool a line
  say('state', stop ? w.start.stopped : w.levelWord[level]);
  $('act-shape').setAttribute('class', `mk ${level}`);
  put('act-shape', stateShape[level]!);
  say('live', lost ? '' : seen.view ? w.far.live(seen.view.now_local, dataAge_s(seen.view) === null ? '' : age(dataAge_s(seen.view)), seen.view.replay_speed, false)
    : w.far.notLive(seen.scene, seen.imagined));
  $('live').hidden = lost;
  say('age', seen.silent ? w.words.silent(seen.age_s) : seen.refusal ? w.words.refused(seen.refusal) : lost ? w.far.waiting : w.words.age(seen.age_s));
  const alarm = alarmLine(lost ? null : seen.view);
  put('alarm', `${alarm.line} ${alarm.more}`.trim());
  put('pools', lost || stop ? '' : air!.pools.map((p) => poolHtml(plan!, p, level === 'short')).join(''));
  put('lower', stop ? `<b>${w.start.stoppedNext}</b>` : lost ? `<b>${w.far.askStaff}</b>` : lowerHtml(plan!, air!));
}
