// A live view in the shapes that trials have, so that one page shows both.
import { byId, running, type Air, type LiveView, type Plan, type Pool, type Scene } from './contract';
import { runFans, type Trial } from './trial';

export const liveId = 'live'; // of the scene that is now: no scene of a file has it, theirs are checked by the board

const nothing: Air = {
  suite_sha256: '', engine: '', scene: null, tier: '', solved: false, unsolved: [], assumed: [], state: 'not_known', act: '', reasons: [],
  pools: [], lower_first: { ends_short: [], reaches_ample: [] }, rooms: [], doors: [], supplies: [], fans: [], stations: [],
};

/** What is shown of a view: its own figures, else those of before (the page marks them so), else none. */
export function airOf(view: LiveView): Air {
  const base = view.air ?? view.earlier?.air ?? nothing;
  const pools = view.pools.map((p): Pool => ({ ...byId(base.pools, p.id), ...p }));
  return { ...base, state: view.state, act: view.act, pools, assumed: [...view.assumed, ...base.assumed],
    reasons: view.reasons,
    lower_first: lowerOf(view) };
}

// While the air is short the act and the stations name the same sashes, whatever the figures of this second say.
function lowerOf(view: LiveView): Air['lower_first'] {
  const list = view.lower_first ?? nothing.lower_first;
  return view.state === 'short' && view.named?.length ? { ...list, ends_short: view.named } : list;
}

interface SceneJson { stations?: Record<string, { cover_ratio?: number; needs_flow?: string }>; doors_open?: string[] }

export function sceneOf(view: LiveView, plan: Plan): Scene {
  const air = view.air ?? view.earlier?.air ?? null, said = (air?.scene ?? {}) as SceneJson;
  return {
    id: liveId, note: null,
    stations: plan.stations.map((s) => {
      const now = byId(view.stations, s.id);
      return { id: s.id, raised: now?.sash === 'raised', opening_m: now?.opening_m ?? null, unattended: now?.unattended === true,
        blocked: now?.blocked === true, withdrawn: now?.withdrawn === true, needs_flow: said.stations?.[s.id]?.needs_flow ?? null,
        cover_ratio: said.stations?.[s.id]?.cover_ratio ?? 0 };
    }),
    doors_open: said.doors_open ?? [],
    fans_running: plan.fans.map((f) => running(byId(air?.fans ?? [], f.id) ?? { running: f.count })),
    supplies_off: (air?.supplies ?? []).filter((u) => !u.running).map((u) => u.id),
  };
}

/** The changes that lead from "all parked" to such a scene: what a trial beside it begins with. */
export function changesTo(scene: Scene, plan: Plan): Trial {
  const parked = plan.scenes[0]!, changes: [string, string][] = [];
  for (const s of scene.stations) {
    const known = byId(plan.stations, s.id)!;
    if (s.raised) changes.push(['sash', `${s.id}=${s.opening_m === null || known.work_m === null ? 'work' : `${s.opening_m.toFixed(3)}m`}`]);
    if (s.unattended) changes.push(['unattended', s.id]);
    if (s.blocked) changes.push(['blocked', s.id]);
    if (s.cover_ratio > 0) changes.push(['cover', `${s.id}=${Math.round(s.cover_ratio * 100)}%`]);
  }
  for (const id of scene.doors_open) changes.push(['door', `${id}=open`]);
  for (const id of scene.supplies_off) changes.push(['off', id]);
  return plan.fans.reduce((trial, f, i) => runFans(trial, f.id, parked.fans_running[i] ?? f.count, scene.fans_running[i] ?? f.count, f.count),
    { scene: parked.id, changes } as Trial);
}
