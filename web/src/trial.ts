// A trial is a list of changes to a scene, and a list of changes is a URL.
// The words are the command line's: sash S3=0.45m, door D2=open, off EF1, cover B1=40%.

export interface Trial { scene: string | null; changes: [verb: string, argument: string][] }

const verbs = new Set(['sash', 'all', 'door', 'off', 'on', 'cover', 'shut', 'was', 'unattended', 'blocked']);

export function readTrial(search: string): Trial {
  const trial: Trial = { scene: null, changes: [] };
  for (const [key, value] of new URLSearchParams(search)) {
    if (key === 'scene') trial.scene = value;
    else if (verbs.has(key)) trial.changes.push([key, value]);
  }
  return trial;
}

export function writeTrial(trial: Trial): string {
  const parts = trial.changes.map(([verb, argument]) => `${verb}=${encode(argument)}`);
  if (trial.scene !== null) parts.unshift(`scene=${encode(trial.scene)}`);
  return parts.join('&');
}

// Readable in an address bar: "=" and "/" may stand in a query as they are (RFC 3986, 3.4).
const encode = (text: string) => encodeURIComponent(text).replace(/%3D/g, '=').replace(/%2F/g, '/');

const subject = (argument: string) => argument.split('=', 1)[0]!;

// The latest change to one thing replaces an earlier one.
export function change(trial: Trial, verb: string, argument: string): Trial {
  const kept = trial.changes.filter(([v, a]) => v !== verb || subject(a) !== subject(argument));
  return { ...trial, changes: [...kept, [verb, argument]] };
}

export function undo(trial: Trial, verb: string, about: string): Trial {
  return { ...trial, changes: trial.changes.filter(([v, a]) => v !== verb || subject(a) !== about) };
}

export function changed(trial: Trial, verb: string, about: string): string | null {
  const found = trial.changes.find(([v, a]) => v === verb && subject(a) === about);
  return found ? found[1].slice(about.length + 1) : null;
}

// How many units of a fan group run: the changes that lead there from the scene's number.
export function runFans(trial: Trial, id: string, from: number, to: number, count: number): Trial {
  const others = trial.changes.filter(([v, a]) => (v !== 'off' && v !== 'on') || (a !== id && !a.startsWith(id + '/')));
  const steps: [string, string][] = to === from ? [] : to === 0 ? [['off', id]] : to === count ? [['on', id]]
    : Array.from({ length: Math.abs(to - from) }, (_, i): [string, string] =>
      to < from ? ['off', `${id}/${from - i}`] : ['on', `${id}/${from + i + 1}`]);
  return { ...trial, changes: [...others, ...steps] };
}
