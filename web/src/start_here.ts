// "May I start here now?" for one station, from one answer and, where it is "not now", a second one
// about the same scene with this sash at work.  Never a permission: shared air only.
import { alwaysOn, byId, type Air, type Alarm, type Errand, type Level, type Plan, type PlanStation, type SceneStation, type Station } from './contract';
import * as w from './words';

export interface StartHere { line: string; level: Level | 'out'; word: string; why: string[]; next: string[]; ask: boolean }

export const answer = (line: string, level: StartHere['level'], why: string[], next: string[], word?: string, ask = false): StartHere =>
  ({ line, level, word: word ?? (level === 'out' ? 'not here' : w.levelWord[level]), why: why.filter(Boolean), next: next.filter(Boolean), ask });

const call = (s: PlanStation) => s.call ? w.start.call(s.call) : w.start.callStaff;

export const notKnown = (why: string): StartHere =>
  answer(w.words.notKnown, 'not_known', [why], [w.far.askStaff]);

export const alarm = (line: string, s: PlanStation): StartHere =>
  answer(line, 'short', [w.start.alarmWhy], [w.start.alarmNext, call(s)], 'alarm');

// What its own tray or deck says is the station's, and no matter of shared air.
export const benchHere = (s: PlanStation, a: Alarm): StartHere =>
  answer(a.when === 'leak' ? w.start.leak(s.id) : w.start.weakDeck(s.id), 'short', [a.measured], [a.action, call(s)], a.when === 'leak' ? w.start.leakWord : w.start.deckWord);

// Taken out of use by a person: who, since when and why come with it from `/api/live`.
export const withdrawnHere = (plan: Plan, s: PlanStation, why: string): StartHere =>
  answer(w.start.withdrawn, 'out', [why], [w.start.leave(s.id), plan.call ? w.start.call(plan.call) : w.start.callStaff], 'not here');

export const stoppedHere = (s: PlanStation): StartHere =>
  answer(w.start.stoppedHere, 'short', [w.start.stoppedWhy], [w.start.stoppedNext, call(s)], w.start.stopped);

// Which sashes would make room, were this one at work: never itself.
function helps(plan: Plan, s: PlanStation, withIt: Air | null): string {
  const list = withIt?.lower_first.ends_short ?? [];
  if (!list.length || list.some((l) => l.station === s.id)) return w.start.noOther;
  return w.start.first(list.map((l) => `${l.station} ${byId(plan.stations, l.station)?.name ?? ''}`.trim() + ` ${w.lowerTo(plan, l)}`).join(', then '));
}

function parked(plan: Plan, s: PlanStation, now: Station, air: Air, there: SceneStation | undefined, withIt: Air | null): StartHere {
  const may = now.may_open, binding = may?.binding ? w.said(may.binding) : '';
  const mark = s.work_m === null ? '' : w.opening(s.work_m), blocked = there?.blocked ? w.start.blocked : '';
  const doubtful = may?.sure === false && (may.state_after === 'ample' || may.state_after === 'near_limit');
  // Where the file says how sure its figures are, the doubtful end of them decides.
  if (doubtful && air.sure?.counts) return answer(w.start.notSure, 'near_limit', [w.start.onlyBest(s.id)], [w.start.leave(s.id)], 'within the \u00b1');
  const maybe = doubtful ? w.start.onlyBest(s.id) : '';
  switch (may?.state_after) {
    case 'ample': return answer(w.start.air(s.id), 'ample', [maybe], [w.start.stands(mark), blocked]);
    case 'near_limit': return answer(w.start.air(s.id), 'near_limit', [maybe, binding && w.start.thenNear(binding)], [w.start.stands(mark), blocked], 'then near limit');
    case 'short': return answer(w.start.notNow, 'short', [binding ? w.start.wouldMiss(s.id, binding) : w.start.already(w.said(air.reasons[0] ?? ''))], [w.start.leave(s.id), helps(plan, s, withIt)], 'would be short');
    default: return notKnown(w.start.notKnownWhy);
  }
}

function figures(now: Station): string {
  return [w.opening(now.opening_m), w.flow(now.flow_m3_s), now.face_velocity_m_s === null ? '' : `${w.speedFigure(now.face_velocity_m_s)} ${w.speedUnit()} at the face (implied, not measured)`]
    .filter(Boolean).join(', ');
}

// Its own air is no comfort while others lack theirs.  Asked to lower is who can, and whose air would then be another's.
function short(s: PlanStation, now: Station, air: Air, there: SceneStation | undefined, spare: string[]): StartHere {
  const first = air.lower_first.ends_short.map((l) => l.station).join(', ');
  const shared = air.pools.some((p) => p.state === 'short' && (p.id === s.main || p.kind === 'supply'));
  const helps = shared && !there?.blocked && !there?.needs_flow;
  const next = first ? [helps ? w.start.lowerIt(first) : w.start.askedFirst(first)] : spare.length ? spare : [w.words.noList];
  return answer(w.start.short, 'short', [now.criterion?.met ? w.start.itself(s.id) : w.start.noCriterion,
    w.start.openNow(figures(now))], next, `air ${w.levelWord.short}`, spare.length > 0);
}

function open(s: PlanStation, now: Station, air: Air, there: SceneStation | undefined): StartHere {
  const is = w.start.openNow(figures(now));
  const among = (list: { station: string }[]) => list.some((l) => l.station === s.id);
  if (now.own_fault) return answer(w.start.ownFault, 'short', [w.start.faultWhy(s.id), is], [w.start.stop, call(s)], 'its own fault');
  if (among(air.lower_first.ends_short)) return answer(w.start.lower(s.id), 'short', [w.start.lowerWhy(s.id), is], [], undefined, true);
  if (now.criterion?.met === false || now.at_limit) return answer(w.start.tooLittle, 'short', [w.start.tooLittleWhy(s.id, w.flow(now.flow_m3_s)), is], [w.start.stop, call(s)], 'too little');
  if (s.work_m !== null && now.opening_m !== null && now.opening_m > s.work_m + 0.005)
    return answer(w.start.toTheMark(w.opening(s.work_m)), 'near_limit', [w.start.aboveMark(w.opening(now.opening_m)), is], [], 'above the mark', true);
  const spare = among(air.lower_first.reaches_ample) ? [w.start.inUse(s.id)] : [];
  if (air.state === 'short') return short(s, now, air, there, spare);
  if (now.criterion?.met === true) return answer(w.start.hasItsAir(s.id), air.state, [is], spare, `air ${w.levelWord[air.state]}`, spare.length > 0);
  return answer(w.start.isOpen(s.id), air.state, [w.start.noCriterion, is], spare, `air ${w.levelWord[air.state]}`, spare.length > 0);
}

/** What is asked of the person here, from `/api/live`: it leads. */
export function asked(s: PlanStation, errand: Errand): StartHere {
  const parked = errand.to_m === null || (s.parked_m !== null && errand.to_m < s.parked_m + 0.005);
  return answer(parked ? w.errand.down : w.start.toTheMark(w.opening(errand.to_m)), 'short',
    [errand.reads_m === null ? '' : w.errand.reads(w.opening(errand.reads_m)), w.errand.hands],
    [w.errand.helps, w.errand.safe], errand.because, true);
}

export function startHere(plan: Plan, s: PlanStation, air: Air, there: SceneStation | undefined, withIt: Air | null): StartHere {
  const now = byId(air.stations, s.id);
  if (!s.in_service) return answer(w.start.outOfService, 'out', [], [w.start.leave(s.id), call(s)], 'not here');
  if (there?.withdrawn) return withdrawnHere(plan, s, '');
  if (!now || now.flow_m3_s === null || air.state === 'not_known') return notKnown(w.start.notKnownWhy);
  if (alwaysOn(s, now) && !now.own_fault && !now.at_limit && now.criterion?.met !== false)
    return answer(w.start.alwaysOn(s.id), air.state, [w.start.noSash(w.flow(now.flow_m3_s))], [], `air ${w.levelWord[air.state]}`);
  return now.sash === 'raised' || alwaysOn(s, now) ? open(s, now, air, there) : parked(plan, s, now, air, there, withIt);
}
