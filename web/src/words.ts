// Every word a person reads, and every way of writing a figure, in one place.
import { byId, type Odds, type Level, type Lower, type Maybe, type Plan } from './contract';

export const levelWord: Record<Level, string> = {
  ample: 'ample', near_limit: 'near limit', short: 'short', not_known: 'not known',
};

/** As the command line says odds: no more closely than they can be known. */
const oneIn = (ratio: number): string => {
  if (ratio < 0.175) return `1 in ${1 / ratio < 10 ? Math.round(1 / ratio) : 1 / ratio < 30 ? 5 * Math.round(0.2 / ratio) : 10 * Math.round(0.1 / ratio)}`;
  const [of, of_] = ([[1, 2], [1, 3], [2, 3], [1, 4], [3, 4], [1, 5], [4, 5], [9, 10]] as const).reduce((a, b) => Math.abs(b[0] / b[1] - ratio) < Math.abs(a[0] / a[1] - ratio) ? b : a);
  return `${of} in ${of_}`;
};
/** Of a pool that something is missed, the figures anywhere within their ±; silent where it is under 1 in 100. */
export const missedOdds = (odds: Odds | undefined): string => {
  const most = odds?.met_least_ratio == null ? 0 : 1 - odds.met_least_ratio;
  return most < 0.01 ? '' : most > 0.95 ? '; almost surely something is missed' : `; ${oneIn(most)} that something is missed`;
};

/** Of a keep or a criterion. */
const missed = (odds: Odds | undefined): string => {
  if (odds?.met_least_ratio == null) return odds?.why ?? 'how likely it is met: not known';
  const most = 1 - odds.met_least_ratio;
  return most < 0.01 ? 'under 1 in 100 that it is missed' : most > 0.95 ? 'almost surely missed' : `${oneIn(most)} that it is missed`;
};

// How sure, and what a centimetre of a sash is worth.
export const sure = {
  missed,
  inDoubt: (odds: Odds | undefined) => odds?.met_least_ratio != null && 1 - odds.met_least_ratio >= 0.01,
  criterion: (odds: Odds) => `its criterion: ${missed(odds)}`,
  from: (input: string) => `Most of that \u00b1 from: ${input}`,
  find: (input: string, share: string, find: string | null | undefined) => `${input}, ${share} of it${find ? `; known better from ${find}` : ''}`,
  keep: (keep: string, actual: string, give: string, odds: Odds | undefined) => `${keep} ${actual}${give ? ` ${give}` : ''}: ${missed(odds)}`,
  keeps: (count: number, others: number) => `${others ? 'The other ' : count === 1 ? 'The ' : ''}${count === 1 ? 'keep:' : `${count} keeps, each`} under 1 in 100 that it is missed`,
  noCauses: 'No figure of the file moves it.',
  pending: '1 cm more: being worked out',
  cm: (asks: string, costs: string) => `1 cm more asks ${asks}${costs ? `: ${costs}` : ''}`,
  cmNothing: '1 cm more asks for nothing more',
  costs: (pools: string, flow: string) => `${flow} less left in ${pools}`,
  most: (stations: string, flow: string) => `1 cm costs most at ${stations}: ${flow}`,
  mostPending: '1 cm costs most at: being worked out',
};

export const words = {
  sharedOnly: "Shared air only. Your station's own alarm decides.",
  notKnown: 'NOT KNOWN: TREAT AS NO',
  silent: (s: number) => `No answer for ${s} s: treat as no.`,
  refused: (why: string) => `No answer to this: ${why}`,
  sceneName: (id: string) => id === 'live' ? 'now' : id || 'all parked',
  ownScene: 'what this board shows',
  sceneNamed: (id: string) => id === 'live' ? 'what is now' : `scene ${id || 'all parked'}`,
  earlier: (age: string) => `Figures shown are of ${age} ago and say nothing of now.`,
  fromSources: 'from the sources of the feeds file; what no source says is computed or assumed, and listed',
  fromFile: 'from the suite file, not live: computed, nothing here is measured',
  notLive: 'not live',
  age: (s: number) => s < 2 ? 'answered just now' : `answered ${s} s ago`,
  ask: 'Ask the person there; never move another\u2019s sash over work.',
  nothingToLower: 'Nothing needs lowering.',
  noList: 'No list of sashes to lower is known to help.',
  endsShort: 'Ends short',
  reachesAmple: 'Reaches ample',
  frees: (flow: string) => `frees ${flow}`,
  then: (level: Level) => `then ${levelWord[level]}`,
  more: (sure: Maybe, best: Maybe, perhaps: Maybe = null) => {
    if (sure === null) return 'how many more: not known';
    if (sure === 0 && !best && !perhaps) return 'no more';
    return [`${sure} more for certain`, perhaps !== null && perhaps > sure ? `perhaps ${perhaps}` : '',
      best !== null && best > Math.max(sure, perhaps ?? 0) ? `${best} at best` : ''].filter(Boolean).join(', ');
  },
  weakest: (input: string) => `Weakest figure: ${input}`,
  narrowHead: 'What would narrow it most',
  cannotHead: 'What this answer does not tell',
  left: (flow: string) => `${flow} left`,
  missing: (flow: string) => `${flow} missing`,
  noReason: 'Nothing is missed, and there is room to the suite\u2019s own margin.',
  same: 'Nothing changes beside the scene.',
  notComputed: 'not computed',
  alwaysOn: 'always on',
  deckCovered: 'deck covered',
  // What the answer itself shows: the flow the station asks does not change, the way it takes does.
  deckWhy: 'Never cover a deck. Tried here to show why: air that should leave through the worktop, at the work, passes the sash instead.',
  deckEffect: (from: string, to: string, beyond: string) => `Face velocity ${from} uncovered, ${to} covered${beyond ? `: ${beyond}` : ''}.`,
  above: (high: string) => `above ${high}, a miss and no bonus`,
  below: (low: string) => `below ${low}`,
  pick: 'Choose a station',
  pickHint: 'Choose a station here or in the plan, then move its sash. Nothing tried here changes anything.',
};

// The pages read from afar.
export const wall = {
  more: (sure: Maybe) => sure === null || sure === undefined ? 'not known' : sure === 0 ? 'no more' : `${sure} more`,
  whileShort: 'no more while the air is short',
  lowerFirst: 'Lower first:',
};
export const alarms = {
  shape: { urgent: '\u25b2', high: '\u25c6', low: '\u25cf' },
  andMore: (count: number) => `and ${count} more`,
  record: (count: number) => count ? `Record \u00b7 ${count}` : 'Record',
  beside: 'Now:', // before an alarm that stands while a trial is shown
};
// On every page, when its board no longer answers, or reads another suite file since.
export const board = {
  silent: (s: number) => `The board has not answered for ${s} s: NOT KNOWN. What stands here is of before.`,
  none: 'The board does not answer.', again: 'The board does not answer. It is asked again every few seconds.',
  replay: (speed: number) => `REPLAY \u00d7${speed}`,
  changed: 'The board reads another suite file since this page was opened.', anew: 'Open it anew',
};
// Of the plan of the Air page.
export const plan = { supply: 'supply', fans: 'fans', leftUnknown: 'left: not known', outOfService: 'out of service' };
export const record = {
  nothing: 'Nothing is known of this span.', noEntry: 'No entry of these in the span above.',
  known: (share: string, each: string, gaps: boolean) => `Known for ${share} of the span; each point stands for ${each}.${gaps ? ' Where nothing was known there is no line.' : ''}`,
  entered: (number: number, hash: string, but: string) => `Entry ${number}, ${hash}${but ? `; but ${but}` : ''}`,
  none: 'Nothing is connected to this board, so there is no record to ask. Start it with a feeds file and --record FILE.',
  mean: 'mean', lowest: 'lowest', highest: 'highest', heads: ['no.', 'when', 'kind', 'of', 'what', 'who'],
};
// Of the lists to take along.
export const lists = {
  who: 'Say who you are first.', entered: (number: number | undefined) => `Entry ${number} of the record.`, notEntered: (why: string) => `Not entered: ${why}`,
  noAnswer: 'Not entered: the board does not answer.',
  lost: (s: number) => `The board has not answered for ${s} s: what stands below is of before, and not of now.`,
};
export const trial = {
  toNow: 'Back to now', toScene: 'Back to the scene', why: 'Why', changes: (to: string) => `What changes beside ${to}`,
};
export const rests = (fresh: number, all: number) => `What this rests on: ${fresh} of ${all} values fresh`;
export const findings = {
  so: 'It was so', notSo: 'It was not', why: 'why', notes: 'Notes: not proved here yet', proved: 'Kinds that have proved themselves here',
  nothingKnown: 'nothing that is known here', none: 'Nothing that is measured goes away from what is computed.',
};
export const far = {
  notLive: (scene: string, imagined: boolean) => imagined
    ? `TRIAL, not live: changed beside scene ${words.sceneName(scene)}`
    : `SCENE ${words.sceneName(scene)}, not live: nothing is connected`,
  // "2026-10-24 18:50:05 +02:00" without its seconds; on a wall without its day.
  live: (local: string, data: string, speed: Maybe, day = true) => `${speed ? board.replay(speed) : 'LIVE'} \u00b7 ` +
    `${local.slice(day ? 0 : 11, 16)} ${local.slice(20)}${data ? ` \u00b7 data ${data} old` : ''}`,
  waiting: 'waiting for the first answer',
  askStaff: 'Keep what is parked parked. Ask the staff.',
};

// "May I start here now?": the line, why, and what to do next.
export const start = {
  air: (id: string) => `AIR FOR ${id}`,
  notNow: 'NOT NOW',
  notSure: 'NOT SURE: TREAT AS NO',
  onlyBest: (id: string) => `There is air for ${id} at the best estimate only; within the \u00b1 of the figures something would be missed.`,
  outOfService: 'OUT OF SERVICE',
  withdrawn: 'WITHDRAWN',
  buildingAlarm: 'BUILDING ALARM: FOLLOW IT',
  stopped: 'stopped',
  stoppedHere: 'NO WORK HERE',
  stoppedWhy: 'All work stopped, and nobody released this station since.',
  stoppedNext: 'People release stations, one by one: see the restart list (/restart).',
  stoppedAir: 'No work: stations wait for release.',
  stoppedPool: 'no work: stations wait for release',
  waits: 'no work', // a column is narrow
  ownAlarm: (id: string) => `ALARM AT ${id}: STOP`,
  leak: (id: string) => `LEAK AT ${id}: STEP AWAY`, weakDeck: (id: string) => `DECK OF ${id} TOO WEAK: STOP`, leakWord: 'leak tray wet', deckWord: 'its own fault',
  alarmWhy: 'An alarm outranks everything else that could be said here.',
  alarmNext: 'Stop, cap, lower, step away. Staff release stations.',
  ownFault: 'NOT HERE: ITS OWN FAULT',
  tooLittle: 'STOP: TOO LITTLE AIR',
  lower: (id: string) => `LOWER ${id}`,
  toTheMark: (to: string) => `LOWER TO THE MARK: ${to}`,
  hasItsAir: (id: string) => `${id} HAS ITS AIR`,
  short: 'AIR IS SHORT',
  none: (id: string) => id ? `NO STATION ${id}` : 'WHICH STATION?', others: 'See the stations there are',
  noneWhy: (id: string) => `${id ? `This suite has no station called ${id}.` : 'The address names no station.'} Nothing is known about it here: treat as no.`,
  itself: (id: string) => `${id} itself has its air.`,
  lowerIt: (first: string) => `Lower it if your work allows; asked first: ${first}.`,
  askedFirst: (first: string) => `Asked first: ${first}.`,
  isOpen: (id: string) => `${id} IS OPEN`,
  alwaysOn: (id: string) => `${id} IS ALWAYS ON`,
  noSash: (flow: string) => `It draws ${flow} at all times; there is no sash to open. Your procedure and your training decide the rest.`,
  stands: (mark: string) => `No higher than the mark${mark ? `, ${mark}` : ''}. Your procedure and your training decide the rest.`,
  wouldMiss: (id: string, binding: string) => `Opening ${id} to work would miss: ${binding}.`,
  already: (reason: string) => `Missed already: ${reason}`,
  thenNear: (binding: string) => `The next one opened could miss: ${binding}.`,
  first: (list: string) => `First ${list}: ask the person there; never move another\u2019s sash over work.`,
  noOther: 'No other sash is known to help. Keep it parked.',
  call: (whom: string) => `Call: ${whom}.`,
  callStaff: 'Call the staff of the stations.',
  leave: (id: string) => `Leave ${id} parked.`,
  stop: 'Stop, cap, lower, step away.',
  faultWhy: (id: string) => `${id} misses its criterion even with every other station parked: no one else\u2019s sash will mend it.`,
  tooLittleWhy: (id: string, is: string) => `${id} gets ${is}, less than its criterion or its set flow.`,
  aboveMark: (is: string) => `The sash stands at ${is}.`,
  inUse: (id: string) => `Not in use? Lower ${id}: others wait for its air.`,
  lowerWhy: (id: string) => `The air is short, and lowering ${id} helps. Finish, or bring to a stand, what you do, then lower the sash.`,
  blocked: 'Something stands under this sash: it cannot come down. Clear it before you start.',
  standsAs: (is: string, text: string, age: string) => `Condition: ${is}. ${text}${age ? ` (${age} old)` : ''}`,
  noCriterion: 'The suite states no criterion for this station: nothing here is judged.',
  notKnownWhy: 'Shared air could not be computed for this station.',
  openNow: (figures: string) => `Now: ${figures}.`,
};

// How a station stands: not a permission in any of its states.
export const ready = {
  state: { not_ready: 'not ready', not_known: 'not known', under_conditions: 'under conditions' },
  says: { against: 'against', contradictory: 'contradictory', not_known: 'not known', condition: 'condition', noted: 'told' },
  notReady: (line: string) => `NOT READY: ${line}`.toUpperCase(),
  under: (lines: string[]) => `READY UNDER CONDITIONS: ${lines.join('; ').toUpperCase()}.`,
  silent: 'How this station stands is not answered: treat as no.',
  airIs: (line: string) => `Of the shared air alone: ${line}.`,
  clear: (at: string) => `Known clear at ${at}, and at no other moment.`,
  neverClear: 'At no moment known clear.',
  ago: (age: string) => `${age} ago`,
  counts: (age: string) => `counts for ${age}`,
  until: (at: string) => `until ${at}`,
};

// What a person reads at the station and says to the board.
const readings: Record<string, string> = { opening: 'Sash at', flow: 'Flow reads', 'face velocity': 'Face velocity reads', alarm: 'Own alarm', leak: 'Leak tray wet', level: 'Level reads', 'low level': 'Level low', 'bath temperature': 'Bath reads', heating: 'Heater on', 'lid open': 'Lid open', resistivity: 'Rinse water reads', dumps: 'Dumps so far', 'deck flow': 'Deck flow reads',
  presence: 'Somebody here', blocked: 'Sash blocked', pressure: 'Pressure reads', other: 'Gauge reads' };
export const hand = {
  reads: (what: string) => `${readings[what] ?? `${what[0]!.toUpperCase()}${what.slice(1)}`} \u2026`,
  asks: (what: string) => `${readings[what] ?? `${what[0]!.toUpperCase()}${what.slice(1)}`}:`,
  never: 'not said yet',
  since: (ago: string, who: string) => `${ago} ago${who ? `, by ${who}` : ''}`,
  who: 'who', value: 'value', unit: 'unit', enter: 'Enter', leave: 'Leave it',
  noName: 'Not entered: say who read it.',
  entered: (number: number, who: string) => `Entered by ${who}: entry ${number} of the record.`,
  refused: (why: string) => `Not entered: ${why}`,
  silent: 'the board does not answer.',
};

// What is asked at a station, and what a person there says to it.
export const errand = {
  down: 'LOWER TO PARKED',
  helps: 'Lowering this sash helps.',
  reads: (is: string) => `The sash reads ${is}.`,
  hands: 'Ask the person there; never move another\u2019s sash over work.',
  safe: 'Finish, or bring to a stand, what you do first.',
  done: 'Done',
  cannot: 'Cannot: it needs its flow',
  why: 'Why does it need its flow?',
  reasons: ['Hazardous process running', 'Hot bath or oxidiser cooling', 'Spill', 'The sash is jammed', 'Something else needs it'],
  leave: 'Back',
  sending: 'Sending \u2026',
  thanks: 'Thank you. The sash\u2019s own reading will show it.',
  noted: 'Noted: this station is not asked for a while.',
  refused: (why: string) => `Not taken: ${why}`,
};

export type System = 'si' | 'us';
let current: System = 'si';
export const system = (): System => current;
export function useSystem(next: System): void { current = next; }

/** Units stand in the address: ?units=us. */
export const systemOf = (search: string): System => new URLSearchParams(search).get('units') === 'us' ? 'us' : 'si';

// Exact: 1 ft = 0.3048 m, 1 inH2O = 249.089 Pa as everywhere in Inward.
const cubicFeetPerMinute = 60 / 0.3048 ** 3;
const feetPerMinute = 60 / 0.3048;
const inchesOfWater = 1 / 249.089;

const minus = (text: string) => text.replace('-', '\u2212');
const grouped = (value: number, step: number) =>
  minus((Math.round(value / step) * step + 0).toLocaleString('en-GB', { maximumFractionDigits: 0 }));

export function flow(m3_s: Maybe): string {
  if (m3_s === null || m3_s === undefined) return '? ' + (current === 'si' ? 'm\u00b3/h' : 'cfm');
  return current === 'si' ? `${grouped(m3_s * 3600, 10)} m\u00b3/h` : `${grouped(m3_s * cubicFeetPerMinute, 5)} cfm`;
}

/** What stands behind a flow when it may be off: the unit is the flow's. */
export function give(m3_s: Maybe | undefined): string {
  const figure = m3_s === null || m3_s === undefined || !(m3_s > 0) ? '' : flow(m3_s).replace(/ .*$/, '');
  return figure === '' ? '' : figure === '0' ? `\u00b1 under ${current === 'si' ? 10 : 5}` : `\u00b1 ${figure}`;
}

/** A slope: finer than any flow is shown. */
export const flowOfCm = (m3_s: number): string =>
  current === 'si' ? `${grouped(m3_s * 3600, 1)} m\u00b3/h` : `${grouped(m3_s * cubicFeetPerMinute, 1)} cfm`;

export function pressure(Pa: Maybe, signed = true): string {
  if (Pa === null || Pa === undefined) return current === 'si' ? '? Pa' : '? inWC';
  const value = current === 'si' ? Pa : Pa * inchesOfWater;
  const text = minus(value.toFixed(current === 'si' ? (signed ? 1 : Number.isInteger(Pa) ? 0 : 1) : 3));
  return `${signed && value >= 0 ? '+' : ''}${text} ${current === 'si' ? 'Pa' : 'inWC'}`;
}

/** What stands behind a pressure when it may be off: the unit is the pressure's. */
export const givePressure = (Pa: Maybe | undefined): string =>
  Pa === null || Pa === undefined || !(Pa > 0) ? '' : `\u00b1 ${pressure(Pa, false).replace(/ .*$/, '')}`;

export function speedFigure(m_s: Maybe): string {
  if (m_s === null || m_s === undefined) return '?';
  return current === 'si' ? m_s.toFixed(2) : grouped(m_s * feetPerMinute, 1);
}
export const speedUnit = () => current === 'si' ? 'm/s' : 'fpm';

/** A sentence carries Pa, m3/h and m/s: it is said again in the reader's units. */
export function said(text: string): string {
  return text.replace(/(?<![\w.-])(-?\d+(?:\.\d+)?) (Pa|m3\/h|m³\/h|m\/s)(?![\w/(])/g, (_, figure: string, unit: string) =>
    unit === 'Pa' ? pressure(+figure, false) : unit === 'm/s' ? `${speedFigure(+figure)} ${speedUnit()}` : flow(+figure / 3600));
}

export function opening(m: Maybe): string {
  if (m === null || m === undefined) return '';
  return current === 'si' ? `${Math.round(m * 100)} cm` : `${(m / 0.0254).toFixed(1)} in`;
}

/** Where a sash is to go: down, or to an opening. */
export function lowerTo(plan: Plan, l: Lower): string {
  const parked = byId(plan.stations, l.station)?.parked_m ?? null;
  return l.to_m === null || (parked !== null && l.to_m < parked + 0.005) ? 'down' : `to ${opening(l.to_m)}`;
}

export function band(of: string, low: Maybe, high: Maybe): string {
  const one = (x: number) => of === 'flow' ? flow(x) : speedFigure(x).replace(/(\.\d)0$/, '$1');
  if (low !== null && high !== null && low !== undefined && high !== undefined) return `${one(low)}\u2013${one(high)}`;
  if (low !== null && low !== undefined) return `min ${one(low)}`;
  return high !== null && high !== undefined ? `max ${one(high)}` : '';
}

// Telling that something happened.
export const tell = {
  link: 'Tell what happened',
  whom: (call: string) => call || 'the staff of the stations',
  call: (call: string) => `Call: ${call || 'the staff of the stations'}.`,
  cannot: 'This could not be kept.',
  notConnected: 'Nothing is connected to this board, so it has no record.',
  noRecord: 'This board has no record.',
  silent: 'The board does not answer.',
  paper: 'Write it on paper: what, where, when, and who tells it.',
  here: 'Here', noPlace: 'no place', noPlaceName: 'or not at a station',
  room: (name: string) => `${name}, not at a station`,
  kept: (number: number, title: string, about: string) => `Kept as entry ${number}: ${title}${about ? `, ${about}` : ''}`,
  keeps: (kept: string) => `Kept with it: ${kept}.`,
  sheet: 'See its sheet', at: 'When was it? Without this only the telling is known', who: 'Who tells it?', afterwards: 'Afterwards', add: 'Add',
  notAdded: (why: string) => `Not added: ${why}`,
  added: (number: number, to: number) => `Added as entry ${number} to entry ${to}. Nothing written before was changed.`,
};

// The day.
export const day = {
  now: 'now', capacity: 'capacity', moveMark: '→', hatched: 'hatched: short if everyone comes on time',
  none: 'Nothing is booked on this day.', noLike: 'none yet', notKnown: 'NOT KNOWN: TREAT AS NO', silent: 'The board does not answer.', old: 'The board does not answer: this is as of before.',
  legend: 'Band: what is asked for, 9 times in 10. Thin line: half the time more. Thick line: what there is, by the model of that moment\'s sashes. Below: bookings, each a thin line.',
  from: 'From', to: 'To', station: 'Station', family: 'Chemistry', leftOut: 'left out',
  heads: ['From', 'Booked', 'As booked', 'Short, chance', 'If people come together', 'Like days', 'What binds'],
  states: { ample: 'ample', near_limit: 'near limit', short: 'SHORT', not_known: 'not known' } as Record<string, string>,
  like: (short: number, of: number): string => `short on ${short} of ${of}`,
  drawn: (pool: string, sentence: string): string => `Demand on ${pool} against its capacity. ${sentence}`,
  leftOutCount: (count: number): string => `${count} booking${count === 1 ? '' : 's'} left out: the fault of each stands at the bottom.`,
};

// The bath card.
export const notKnown = 'not known';
export const digits = (value: number | null): string => value === null ? notKnown : value === 0 ? '0' : String(Number(value.toPrecision(3)));
export const litres = (m3: number | null): string => m3 === null ? notKnown : m3 < 0.001 ? `${Number((m3 * 1e6).toPrecision(3))} mL` : `${Number((m3 * 1e3).toPrecision(4))} L`;
export const mass = (kg: number | null): string => kg === null ? notKnown : kg < 1 ? `${Number((kg * 1e3).toPrecision(3))} g` : `${Number(kg.toPrecision(4))} kg`;
export const perHour = (kg_s: number): string => `${Number((kg_s * 3.6e6).toPrecision(2))} g/h`;
export const parts = (ratio: number): string => ratio >= 0.01 ? `${Number((ratio * 100).toPrecision(2))} %` : `${Number((ratio * 1e6).toPrecision(2))} ppm`;
export const order = (ratio: number): string => `${Number((10 ** Math.round(Math.log10(ratio * 1e6))).toPrecision(1))} ppm`;
const rises: Record<string, string> = {
  will_boil: 'It will boil when poured together at once: slowly, with cooling, or not.', may_boil: 'It may boil when poured together at once.',
  by_these_figures_below: 'Not shown to boil by mixing alone, all poured at once; what breaks down or reacts is not counted.', not_known: 'Not known how hot it gets: treat it as hot.',
};
export const bath = {
  silent: 'The board does not answer: nothing is known here. Ask the staff of the stations and your written procedure.',
  memory: 'value from memory', densityMemory: 'its density is a value from memory', there: 'is there',
  no: { refused: 'NO AMOUNTS HERE', not_known: 'NO RECIPE HERE' },
  cautions: 'First', whyNot: 'Why not', possible: 'What would make it possible', make: 'In this order', heat: 'How hot mixing may get', vessel: 'Vessel', what: 'What it then is', holds: 'It holds',
  after: 'Use, keeping, waste', notKnown: 'Not known', from: 'Where this is from, and what was assumed',
  boils: (how: string) => rises[how] ?? rises.not_known!,
  rise: (low_K: number, high_K: number) => `A rise of ${Math.round(low_K)} to ${Math.round(high_K)} K, no heat lost.`,
  hot: 'A share of the heat is not known: treat it as hot.', boilsAt: (at: string) => `boils from ${at}`,
  peroxide: (m3: number, how: string) => `Worst case apart: all its peroxide breaking down gives ${litres(m3)} of oxygen, and it ${how === 'will_boil' ? 'boils' : 'may boil'}. Never closed.`,
  total: (kg: number | null, m3: number | null, sum_m3: number | null) => m3 === null ? `${mass(kg)} in all; its volume is not known, at most about ${litres(sum_m3)}.` : `${mass(kg)} in all, ${litres(m3)}.`,
  fill: (ratio: number) => `Fill it to at most ${Math.round(ratio * 100)} %.`,
  use: (text: string) => `For: ${text}.`, usedAt: (low: string, high: string) => low === high ? `Used at ${low}.` : `Used at ${low} to ${high}.`, keeping: (text: string) => `Keeping: ${text}.`,
  life: (text: string) => `Bath life: ${text}.`, waste: (text: string) => `Waste: ${text} (local rules decide).`, assumed: (text: string) => `Assumed: ${text}.`,
  ask: (whom: string) => `Ask: ${whom}.`, check: 'A sanity check from tables, not an instruction: your procedure, the supplier\u2019s safety data sheet and the safety officer decide.',
  airStation: 'Choose a station above: what reaches duct, room and person depends on its air.', airMixture: 'No figure for what comes off a mixture of these: not known. Treat it as more than each alone.',
  scene: (name: string | null, oldest: string | null, live: boolean) => live
    ? `Scene: ${name}; ${oldest === null ? 'nothing of it is measured' : `its oldest reading is ${oldest} old`}. Press Show for the air of now.`
    : `Scene: ${name ?? 'all parked'}, from the suite file: nothing of it is measured.`,
  airNot: 'Not known, and assumed', airHeads: ['', 'It evaporates', 'In the station\u2019s duct', 'In the main', 'At a person, order of magnitude'],
  when: (what: string) => ({ now: 'As the air of this scene', parked: 'Sash parked', stopped: 'Fans standing' })[what] ?? what,
  verdict: (what: string) => what.charAt(0).toUpperCase() + what.slice(1),
  letters: (codes: string) => `Chart EPA-600/2-80-076: ${codes}. A blank is not a clearance.`,
  places: [['', 'not said'], ['deck', 'on a deck'], ['drawer', 'in a drawer'], ['storage', 'in storage'], ['waste', 'in a waste container']] as [string, string][],
  stale: 'Below stands what was asked before: press Show.', printed: (when: string, sha: string | null) => `Answered ${when} UTC${sha ? `, suite file ${sha.slice(0, 12)}` : ''}. A card on paper ages: look again before it is used.`,
  askMeet: 'the safety officer, and who wrote the procedure',
  ours: 'Of this house', usual: 'Usual baths', noStation: 'not said',
};

// ---- baths of the day, waste, stock ----
export const wet = {
  state: { empty: 'EMPTY', stands: 'STANDS', due: 'DUE', not_known: 'NOT KNOWN' } as Record<string, string>,
  due: (ids: string) => `DUE: ${ids}`, unknown: (ids: string) => `NOT KNOWN: ${ids}`, nothingDue: 'NOTHING THAT IS SET IS DUE, BY WHAT WAS TOLD',
  unread: (n: number) => `${n} entries cannot be read, or are of a moment to come: what they told is not known.`, older: 'More was told than is looked at here: what is older was left out.',
  entry: (n: number) => `entry ${n}`, notKnown: 'not known', notRead: 'not read', notTold: 'how much was not told',
  heads: { began: 'poured', wafers: 'wafers', reads: '°C read', level: 'level', topped: 'topped up with' },
  poured: (at: string, ago: string) => `${at}, ${ago} ago`, found: (at: string) => `not known; found ${at}`, ago: (span: string) => `${span} ago`,
  wafers: (n: number, most: number | null, known: boolean) => `${n}${known ? '' : ' told since it was found'}${most === null ? '' : `, at most ${most}`}`,
  next: (at: string, span: string) => `Next ${at}, in ${span}:`, left: (span: string, at: string) => `${span} left, until ${at}:`,
  drain: 'Drain:', toDrain: 'to its drain', into: (id: string) => `into ${id}`, where: 'where it goes', more: 'More', what: 'of what: hf-49, al-etch', whatHint: 'hf-49', litresOf: 'litres',
  act: { made: 'Poured fresh', madeAgain: 'Poured fresh again', found: 'It stood there already', wafers: '+ wafers', temperature: '°C read', level: 'L level read', dumped: 'Emptied', topped: 'Topped up', may: 'May it?', added: 'Added', fill: 'Full to there',
    closed: 'Full: closed for good', collected: 'Collected' },
  said: (act: string, id: string, amount: string, what: string, into: string): string => ({ made: `${id}: poured fresh.`, found: `${id}: found standing; since when is not known.`, wafers: `${id}: ${amount} wafers.`, temperature: `${id} reads ${amount}.`,
    level: `${id}: ${amount}.`, dumped: `${id}: emptied ${into ? `into ${into}` : 'to its drain'}.`, topped: `${id}: topped up with ${what} ${amount}.`, opened: `${id}: begun.`, added: `${id}: ${what} ${amount}.`, fill: `${id}: ${amount}.`,
    closed: `${id}: full, closed for good.`, collected: `${id}: collected.` })[act] ?? id,
  undo: 'Take it back', undone: (n: string) => `Entry ${n} was taken back: it does not count. It stays in the record.`, notWritten: 'Not written down:', anyway: 'It was so: write it down anyway', anywaySaid: 'Written down anyway.',
  againSaid: 'Written down.', sendAgain: 'Send it again (it counts once)', maybe: 'The board did not answer: it is not known whether it was written down.', whoFirst: 'who tells? Fill it in above.',
  silent: 'The board does not answer: what stands here is old. Write on paper, and look at the tanks.', cannot: 'Nothing can be told or shown here:',
  noneHere: 'The chemicals file names no tank at this station.', noContainers: 'No container stands here by what was told; one that nobody told of is not here.', noStream: 'stream not known', allStations: 'all stations',
  fill: (low: number, high: number) => low === high ? `${low} % full, by what was told` : `${low} to ${high} % full, by what was told`, fillNot: 'How full: not known.', most: (percent: number) => `at most ${percent} %`, howFull: 'how full it is',
  shares: ['empty', 'a quarter', 'a third', 'half', 'two thirds', 'three quarters', 'full'], outOf: (id: string) => ` out of ${id}`,
  cap: (vented: boolean, material: string) => `${material}, cap ${vented ? 'vented' : 'not told vented'}.`, takes: (list: string) => `Takes: ${list}.`, never: (list: string) => `Never: ${list}.`,
  may: (what: string, id: string) => `${what} into ${id}:`, categories: (list: string) => `category ${list}`, counted: (day: string) => `counted ${day}`,
  says: { exceeds: 'EXCEEDS', 'may exceed': 'MAY EXCEED', 'not a clearance': 'counted: not a clearance' } as Record<string, string>,
  stockHeads: ['where', 'flammable liquids', 'stands there', 'at most', '', ''], noStores: 'The chemicals file names no stores: how much stands where is not known.',
};

// ---- wet benches ----
export const bench = {
  state: { quiet: 'NOTHING MEASURED AGAINST IT', unseen: 'NOT SEEN', not_known: 'NOT KNOWN', call: 'CALL' } as Record<string, string>,
  rinse: { as_set: 'AS SET', not_yet: 'NOT YET', not_known: 'NOT KNOWN' } as Record<string, string>,
  call: (id: string, why: string) => `${id}: ${why}`, deck: 'Deck', tray: 'Leak tray', heater: 'Heater', rinseTank: 'Rinse', drain: 'Drain', next: 'Next:', above: 'Above it:', together: 'Together:',
  unknownAbove: 'Not all that is above it is known: what may meet in it is not known either.', holds: 'HOLDS', notKnown: 'not known', standing: 'Stands there:', of: (tank: string) => `of ${tank}`,
  takes: (route: string, list: string, procedure: string, never: string, hottest: string) => `${route}; takes ${list}${procedure ? `; only by a written procedure ${procedure}` : ''}${never ? `; never ${never}` : ''}${hottest ? `; nothing above ${hottest}` : ''}`,
  ask: 'May it go down?', down: (tank: string, drain: string) => `${tank} down ${drain}:`, itsDrain: 'its drain', before: (list: string) => `Went down before: ${list}.`,
};

// ---- do the rules let me start ----
export const may = {
  act: { no: 'NO', unconfirmed: 'NOT CONFIRMED: TREAT AS NO', rules_met: 'RULES MET, NOT A PERMIT' },
  what: (who: string, process: string, station: string) => `${who}: ${process} at ${station}`, permission: (by: string) => `Permission is given by ${by}.`,
  document: (title: string, version: string, review: string) => `Document: ${title}, version ${version}, next review ${review}.`, noDocument: 'No written procedure is named.',
  air: (scene: string | null) => scene ? `Shared air: ${scene}.` : 'Shared air: not known here.',
  against: 'Against it', confirm: 'To be confirmed', turns: 'What would turn no into yes, the fewest changes', others: 'Another station, hour or company', met: 'What is met, and why',
  and: ' AND ', then: { no: 'then still no', unconfirmed: 'then to be confirmed', rules_met: 'then the rules are met' }, mended: 'Mended by:', looked: 'I have looked: it is so', lookedThere: 'I have looked: nothing against it',
  above: 'Fill in above, or look at the board.', cannot: 'NOT ANSWERED: TREAT AS NO', lacks: 'Station, process and your id are needed.', silent: 'The board does not answer. Ask the staff.',
  choose: 'choose', here: 'At this station', elsewhere: 'At other stations',
};

// ---- what happens on the way ----
export const play = {
  run: 'Play', stop: 'Stop', at: (t_s: number) => `${t_s.toFixed(1)} s`, before: 'Before anything changes.', silent: 'The board does not answer: not known.', asking: 'Not known yet: asking \u2026', unsolved: 'Some moment had no solution: nothing after it is to be relied on.',
  keep: (room: string, over: string) => `${room} over ${over}`,
};

// ---- who may work together ----
export const together = {
  with: (id: string) => `with ${id}`, silent: 'The board does not answer. Ask the staff.', solving: 'Not known yet: this choice is being solved.', counting: 'Each fan, unit and door is lost in turn: this takes some seconds.', noLost: 'No part that can be lost is described in the suite file.',
  lostFirst: 'First: stop, cap, lower, step away. Staff release stations.', allDown: 'All down',
  beside: (any: Maybe, best: Maybe, of: number, doubts: boolean) => any === null ? '' : `At best ${best ?? any} of ${of}, if they are the right ones${doubts ? '; all this at the doubtful end of the figures' : ''}.`,
  state: { ample: 'NOTHING IS MISSED', near_limit: 'NOTHING IS MISSED, NEAR THE LIMIT', short: 'NOT TOGETHER', not_known: 'NOT KNOWN: TREAT AS NO' } as Record<Level, string>,
  parked: { ample: 'ALL PARKED: NOTHING IS MISSED', near_limit: 'ALL PARKED: NEAR THE LIMIT', short: 'MISSED WITH ALL PARKED', not_known: 'NOT KNOWN: TREAT AS NO' } as Record<Level, string>,
  doubtful: 'PERHAPS TOO MANY: TREAT AS NO', doubtfulWhy: 'Nothing is missed by the best estimate, but something is within the doubt of the figures.',
  none: 'Nobody chosen yet.', fits: (act: string) => `Then: ${act.toLowerCase()}, by steady air with everything else parked.`, own: (ids: string) => `${ids}: a fault of the station's own, whoever else works.`, ownHead: 'Miss their criterion even alone',
  lostWord: (level: string) => ({ ample: 'AS MANY AS BEFORE', near_limit: 'FEWER MAY WORK', short: 'NONE MAY OPEN', not_known: 'NOT KNOWN: TREAT AS NO' })[level] ?? level,
  alsoMissed: (n: number) => `and ${n} more missed`, andMore: (n: number) => `and ${n} more such sets`,
  largest: (best: Maybe, count: Maybe) => best === null ? 'Largest: not known' : `Largest: ${best} stations, ${count ?? 0} such ${count === 1 ? 'set' : 'sets'}`, tightest: 'Tightest: full, though few are open',
  found: (states: number, solved: number, checked: number, corrected: number) => `${states} states that differ, ${solved} solved, ${checked} checked a second time, ${corrected} corrected.`,
  foot: (tier: string, suite: string) => `Tier ${tier}, suite ${suite}. Void after any change of fan, damper, filter or balance. On paper: inward print together, inward print failure.`,
};

// ---- does the model match ----
export const sentenceCase = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

export const match = {
  verdict: { matches: 'MATCHES WITHIN ITS ±', differs: 'DOES NOT MATCH', unexplained: 'DOES NOT MATCH, AND NO FIGURES EXPLAIN ALL OF IT', contradicts: 'THE READINGS CONTRADICT EACH OTHER', too_few: 'TOO FEW DATA' } as Record<string, string>,
  working: 'Not known yet: working it out …', silent: 'The board does not answer: not known.', notMatched: 'NOT MATCHED', begin: 'Next: choose a table of readings, or type the first below.', next: (action: string) => `Next: ${action}`,
  thing: (of_: string, what: string, over: string) => what === 'pressure' ? `${of_} over ${over}` : `${what} of ${of_}`, parked: 'everything parked', typedName: 'typed.csv', drop: 'Take out',
  noNumber: 'A number, please: 12.5. The unit stands beside the title.', noPm: 'The ± is a number in the same unit, or a share: 3 %.', added: (thing: string) => `Added: ${thing}. The next one is chosen.`,
  cannotRead: 'Why these readings cannot be matched', mend: 'Next: mend the place named below, and choose the table again.', mendAll: (n: number) => `Next: mend the ${n} places named below, and choose the table again.`, again: 'Next: ask again in a moment.', tooLong: 'The table is longer than 2 MiB: give the sheet with the readings alone.',
  outside: 'OUTSIDE the file\u2019s ±.', notExplained: 'NOT EXPLAINED by any figure: read it again.', excludes: (id: string) => `EXCLUDES reading ${id}.`, metBefore: 'Predicted before: inside.', missedBefore: 'Predicted before: MISSED.', remark: (text: string) => `Remark: \u201C${text}\u201D.`,
  figures: (predicted: string, pm: string, measured: string, fitted: string) => `predicted ${predicted} ± ${pm}<br>measured <b>${measured}</b>, fitted ${fitted}`,
  noneOut: (n: number) => n ? 'No reading lies outside.' : 'No reading has a value yet.', inside: (n: number) => `Inside: ${n}`, leftOut: 'Left out',
  axis: (edge: number) => `Each row on its own scale: the mark of two ends is the prediction with its ± (of file, instrument and reading together), the shaded band goes to ${edge.toFixed(2)} of it, where a reading is called outside; dot: measured, a lozenge outside; dashes: as fitted.`,
  known: { known: 'Known now', better: 'Known better than before', together: 'Only told together', not_told: 'Not told by any of these readings' }, movedHead: 'Moved by more than their own ±',
  times: (is: string, was: string) => `${is} times what is written, which is known to ± ${was}`, fileSays: (is: string, says: string, was: string) => `${is} where the file says ${says} ± ${was}`, knownBefore: (is: string, was: string) => `${is}, known before to ± ${was}`,
  beyond: 'BEYOND ITS OWN ±', atBound: 'AT ITS BOUND: the readings ask for what cannot be, so look for another cause', onlyWith: (others: string) => `Told only together with ${others}`,
  left: (pool: string, now: string, file: string) => `What is left in ${pool} is known to ± ${now}, by the file alone to ± ${file}.`, read: (what: string, scene: string | null, how: string, then: string) => `${what}${scene ? `, ${scene}` : ''} (${how}): then ± ${then}`,
  nothingNext: 'No pool is worked out, so nothing can be proposed.', nothingNarrows: 'No single reading of a walk or a flow hood would narrow it.', otherSuite: 'READ FOR ANOTHER REVISION OF THE SUITE FILE.', notSettled: 'THE FIT DID NOT SETTLE: take its figures for a hint.',
  foretold: (inside: number, of_: number, on: string | null, by: string | null) => `Predicted before the test${on ? ` on ${on}` : ''}: ${inside} of ${of_} inside; ${by ? `signed before it by ${by}` : on ? 'nobody signed before it' : 'as its sheet says'}.`,
  noNight: (why: string) => `None: ${why || 'not known why'}.`, noVerdict: 'NO VERDICT', nightAge: (age: string | null, n: number) => `${age === null ? '' : `${age} ago, `}from ${n} readings of the record.`, was: (verdict: string) => `The night before: ${verdict}.`,
  drifts: 'Figures that drift over the nights', moved: (figure: string, by: string, pm: string, nights: number) => `${figure}: by ${by} ± ${pm} over ${nights} nights`,
  noOverlay: 'No figure is known better by these readings.', overlayFirst: 'Look at each figure first. It is a file for --with; the suite stays as it is.', overlayTaken: 'fitted.yaml: try it with inward air SUITE --with fitted.yaml; look at each figure before you take it over.',
  foot: (n: number, from: string, on: string | null, by: string | null, suite: string, at: string) => `${n} readings of ${from}${on ? `, read ${on}` : ''}${by ? ` by ${by}` : ''}. Suite ${suite}. Matched ${at} UTC. A model that matches is no test of containment.`,
};

// ---- rounds and runs: what people tell ----
export const telling = {
  notWritten: 'Not written down:', whoFirst: 'who tells? Fill it in.', maybe: 'the board did not answer. It is not known whether it was written: look below before you tell it again.', entry: (n: number) => `entry ${n}`,
  allStations: 'all stations', cannot: 'Nothing can be told or shown here:', silent: 'The board does not answer: what stands here is old. Write on paper, and look at the stations.',
};

export const round = {
  overdueHead: (n: number) => `${n} overdue, no alarm`, since: (at: string) => `since ${at}`,
  state: { open: 'OPEN FINDING', overdue: 'OVERDUE', not_known: 'NOT KNOWN', looked_at: 'looked at' } as Record<string, string>,
  choice: { yes: 'Yes', no: 'No', unseen: 'Not looked at' } as Record<string, string>,
  by: (who: string) => `by ${who}`, last: (at: string, by: string) => `Last round ${at}${by}.`, inWords: 'It was told in words and answers none of these.', noRound: 'No round is told.',
  clear: (at: string, by: string) => `Known clear at ${at}${by}, and at no other moment.`, neverClear: 'At no moment known clear.', never: 'Never looked at.', before: 'Last told:',
  lookedAt: (ago: string) => `looked at ${ago} ago`, late: (most: string) => `longer than ${most}`, openSince: (at: string) => `NO, open since ${at}`, said: (words: string) => `Said: ${words}`,
  expired: (day: string) => `Expired with ${day}`, yesUntil: (day: string) => `Yes, until ${day}`, yes: 'Yes', until: 'keeps until', next: (id: string) => `Next: ${id}`, all: 'All stations', noStation: (id: string) => `No station ${id}`,
  nothingAsked: 'Nothing of the suite\u2019s rounds is asked here.', unread: (n: number) => `${n} entries of rounds cannot be read.`, written: (id: string) => `${id}: written down.`,
};

export const glass = {
  head: 'Glass', which: 'Which mark stood there?', notSaid: 'not said', unmarked: 'unmarked', other: 'another: in words', asSeen: 'colour, shape, letter, as far as seen', what: 'what is it? (beaker 1 L)', howMany: 'how many',
  state: { lost: 'LOST ITS STATUS', visits: 'may visit' } as Record<string, string>,
  verdict: (verdict: string, owner: string) => ({ visits: `It is ${owner}\u2019s and may stand here for a while.`, astray: `${owner ? `It is ${owner}\u2019s` : 'It is another station\u2019s'}: do not use, pour from or empty it.`, doubtful: 'Not known whose: do not use, move or empty it.', stranger: 'No station\u2019s mark: do not use, move or empty it.', unmarked: 'It bears no mark: do not use, move or empty it.' })[verdict] ?? verdict,
  seen: (first: string, times: number, last: string, entry: number) => `Seen ${first}${times > 1 ? `, told ${times} times, last ${last}` : ''} (entry ${entry}).`, home: (at: string, lost: boolean) => `One like it was seen at its own station ${at}${lost ? '; that gives no status back' : ''}.`,
  how: 'by which procedure', cleaned: 'Cleaned', discarded: 'Discarded', wrongly: (entry: number) => `Entry ${entry} was told wrongly`, told: 'Glass: written down.',
  drawer: (id: string) => id ? `drawer ${id}` : 'drawer not stated', drawerState: (state: string, apart: number) => ({ missing: `${apart} MISSING`, too_many: `${apart} TOO MANY`, overdue: 'OVERDUE', not_known: 'NOT KNOWN', right: 'as the suite says' })[state] ?? state,
  counted: (n: number, of: number, at: string) => `${n} of ${of} counted ${at}.`, neverCounted: (of: number) => `Never counted; the suite says ${of}.`, elsewhere: (n: number) => `${n} of that mark and kind lost ${n === 1 ? 'its' : 'their'} status elsewhere.`, inIt: 'how many are in it', write: 'Write the count',
  often: (mark: string, n: number, since: string, low: Maybe, high: Maybe) => `${mark}: seen here ${n} ${n === 1 ? 'time' : 'times'} since ${since}${low === null || high === null ? '' : `; so few cases leave room for ${low.toPrecision(2)} to ${high.toPrecision(2)} in 30 d`}.`,
  unread: (n: number) => `${n} entries of glass cannot be read: what they said is not known.`,
};

export const run = {
  phase: { overdue: 'OVERDUE', not_known: 'COOLS, END NOT KNOWN', runs: 'RUNS', cools: 'COOLS', may_be_cold: 'MAY BE COLD: MEASURE' } as Record<string, string>,
  until: (phase: string, at: string) => ({ overdue: `Was to be over at ${at}.`, not_known: 'Until when is not known.', runs: `Until ${at}.`, cools: `Until ${at}, by the later of clock and wait.`, may_be_cold: `Since ${at}, by clock and wait: measure before you touch.` })[phase] ?? at,
  heads: { holds: 'holds', hazards: 'hazards', call: 'call', since: 'since', over: 'heat off', read: 'read last', clock: 'clock', wait: 'wait of the house until' }, between: (a: string, b: string) => `cold between ${a} and ${b}`,
  act: { read: 'It reads that', over: 'Over: it cools', later: 'It takes longer', cleared: 'Looked: cleared' } as Record<string, string>, readLabel: '°C read', laterLabel: 'back by', clearedLabel: 'what was seen', clearedHint: 'cold, emptied',
  said: (act: string, id: string) => ({ started: `${id}: it runs.`, read: `${id}: read.`, over: `${id}: over, it cools.`, later: `${id}: it takes longer.`, cleared: `${id}: cleared.` })[act] ?? id,
  none: 'No run is told. What nobody told is not known here: look at the stations.', noneHere: (id: string) => `No run is told of ${id}. What nobody told is not known here: look.`, notKnown: 'not known', untilFirst: 'until when? Somebody must be back by then.',
  foot: 'As told by people; nothing here measures it. Before you touch anything: measure, ask whoever is named, wear what the station asks for.', notKept: 'Nothing is kept here: start the board with --record FILE.', nothingConnected: 'Nothing is connected to this board: no run can be told or shown here.',
  line: (phase: string, until: string, call: string) => `${phase}. ${until} Call: ${call}`,
};
