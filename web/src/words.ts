// Every word a person reads, and every way of writing a figure, in one place.
import type { Level, Maybe } from './contract';

export const levelWord: Record<Level, string> = {
  ample: 'ample', near_limit: 'near limit', short: 'short', not_known: 'not known',
};

export const words = {
  sharedOnly: "Shared air only. Your station's own alarm decides.",
  notKnown: 'NOT KNOWN: TREAT AS NO',
  silent: (s: number) => `No answer for ${s} s: treat as no.`,
  refused: (why: string) => `No answer to this: ${why}`,
  sceneName: (id: string) => id || 'all parked',
  fromFile: 'from the suite file: computed, nothing here is measured',
  age: (s: number) => s < 2 ? 'answered just now' : `answered ${s} s ago`,
  ask: 'Ask the person there; never move another\u2019s sash over work.',
  nothingToLower: 'Nothing needs lowering.',
  noList: 'No list of sashes to lower is known to help.',
  endsShort: 'Ends short',
  reachesAmple: 'Reaches ample',
  frees: (flow: string) => `frees ${flow}`,
  then: (level: Level) => `then ${levelWord[level]}`,
  more: (sure: Maybe, best: Maybe) =>
    sure === null ? 'how many more: not known'
      : sure === 0 && !best ? 'no more'
      : best !== null && best > sure ? `${sure} more for certain, ${best} at best` : `${sure} more for certain`,
  left: (flow: string) => `${flow} left`,
  missing: (flow: string) => `${flow} missing`,
  noReason: 'Nothing is missed, and there is room to the suite\u2019s own margin.',
  same: 'Nothing changes beside the scene.',
  notComputed: 'not computed',
  pick: 'Choose a station',
  pickHint: 'Choose a station here or in the plan, then move its sash. Nothing tried here changes anything.',
};

export type System = 'si' | 'us';
let system: System = 'si';
export function useSystem(next: System): void { system = next; }

// Exact: 1 ft = 0.3048 m, 1 inH2O = 249.089 Pa as everywhere in Inward.
const cubicFeetPerMinute = 60 / 0.3048 ** 3;
const feetPerMinute = 60 / 0.3048;
const inchesOfWater = 1 / 249.089;

const minus = (text: string) => text.replace('-', '\u2212');
const grouped = (value: number, step: number) =>
  minus((Math.round(value / step) * step + 0).toLocaleString('en-GB', { maximumFractionDigits: 0 }));

export function flow(m3_s: Maybe): string {
  if (m3_s === null || m3_s === undefined) return '? ' + (system === 'si' ? 'm\u00b3/h' : 'cfm');
  return system === 'si' ? `${grouped(m3_s * 3600, 10)} m\u00b3/h` : `${grouped(m3_s * cubicFeetPerMinute, 5)} cfm`;
}

export function pressure(Pa: Maybe, signed = true): string {
  if (Pa === null || Pa === undefined) return system === 'si' ? '? Pa' : '? inWC';
  const value = system === 'si' ? Pa : Pa * inchesOfWater;
  const text = minus(value.toFixed(system === 'si' ? (signed ? 1 : Number.isInteger(Pa) ? 0 : 1) : 3));
  return `${signed && value >= 0 ? '+' : ''}${text} ${system === 'si' ? 'Pa' : 'inWC'}`;
}

export function speedFigure(m_s: Maybe): string {
  if (m_s === null || m_s === undefined) return '?';
  return system === 'si' ? m_s.toFixed(2) : grouped(m_s * feetPerMinute, 1);
}
export const speedUnit = () => system === 'si' ? 'm/s' : 'fpm';

/** A sentence carries Pa, m3/h and m/s: it is said again in the reader's units. */
export function said(text: string): string {
  return text.replace(/(?<![\w.-])(-?\d+(?:\.\d+)?) (Pa|m3\/h|m\/s)(?![\w/(])/g, (_, figure: string, unit: string) =>
    unit === 'Pa' ? pressure(+figure, false) : unit === 'm3/h' ? flow(+figure / 3600) : `${speedFigure(+figure)} ${speedUnit()}`);
}

export function opening(m: Maybe): string {
  if (m === null || m === undefined) return '';
  return system === 'si' ? `${Math.round(m * 100)} cm` : `${(m / 0.0254).toFixed(1)} in`;
}

export function band(of: string, low: Maybe, high: Maybe): string {
  const one = (x: number) => of === 'flow' ? flow(x) : speedFigure(x).replace(/(\.\d)0$/, '$1');
  if (low !== null && high !== null && low !== undefined && high !== undefined) return `${one(low)}\u2013${one(high)}`;
  if (low !== null && low !== undefined) return `min ${one(low)}`;
  return high !== null && high !== undefined ? `max ${one(high)}` : '';
}
