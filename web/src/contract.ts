// What the server says: /api/plan and /api/air, SI with the unit in the key; null means unknown.
export type Level = 'ample' | 'near_limit' | 'short' | 'not_known';
export type Maybe = number | null;

export interface Part { id: string; name: string }
export interface Ends extends Part { from: string | null; to: string | null }
export interface Criterion { of: string; low: Maybe; high: Maybe; source: string | null }
export interface PlanStation extends Part {
  kind: string; room: string; main: string | null; in_service: boolean;
  parked_m: Maybe; work_m: Maybe; most_m: Maybe; deck_ratio: number;
  criterion: (Criterion & { id: string }) | null;
  // What its card says; nothing said is no clearance.
  chemistry: string | null; not_here: string[]; glass_mark: GlassMark | null;
  wear: { what: string; source: string | null } | null; documents: Document[]; call: string | null;
}
export interface GlassMark { colour: string | null; shape: string | null; letter: string | null }
export interface Document { title: string; version: string | null; reviewed: string | null; link: string | null }
export interface SceneStation {
  id: string; raised: boolean; opening_m: Maybe; unattended: boolean; blocked: boolean;
  withdrawn: boolean; needs_flow: string | null; cover_ratio: number;
}
export interface Scene {
  id: string; note: string | null; stations: SceneStation[];
  doors_open: string[]; fans_running: number[]; supplies_off: string[];
}
export interface Plan {
  suite_sha256: string; name: string; label: string | null; call: string | null; start: string;
  rooms: (Part & { keeps: { over: string; at_least_Pa: Maybe; at_most_Pa: Maybe }[] })[];
  doors: Ends[]; leaks: Ends[]; ducts: Ends[]; stations: PlanStation[];
  exhausts: (Ends & { main: string | null; flow_m3_s: number })[];
  mains: (Part & { fans: string[] })[];
  fans: (Ends & { count: number })[];
  supplies: (Part & { most_m3_s: Maybe; feeds: { id: string; room: string }[] })[];
  scenes: Scene[];
}

export interface Keep { over: string; at_least_Pa?: Maybe; at_most_Pa?: Maybe; actual_Pa: Maybe; actual_pm_Pa?: Maybe; met: boolean | null; odds?: Odds }
export interface Room {
  id: string; pressure_Pa: Maybe; keeps: Keep[];
  supply_m3_s: Maybe; exhaust_m3_s: Maybe; leakage_m3_s: Maybe;
}
export interface Odds { met_ratio: Maybe; met_least_ratio: Maybe; why: string | null; causes: Cause[] }
export interface Cause { input: string; share_ratio: number; find?: string | null }
export interface Pool {
  id: string; kind: string; state: Level; demand_m3_s: Maybe; capacity_m3_s: Maybe; headroom_m3_s: Maybe;
  binding: string | null; more_guaranteed: Maybe; more_best: Maybe; more_perhaps?: Maybe; headroom_pm_m3_s?: Maybe; odds?: Odds;
  declared?: { state: Level; demand_m3_s: Maybe; capacity_m3_s: Maybe; why: string | null } | null;
}
export interface Narrow { input: string; find: string | null; part: string; key: string }
export interface Lower { station: string; to_m: Maybe; frees_m3_s: Maybe; state_after: Level }
export interface Station {
  id: string; sash?: string; opening_m: Maybe; flow_m3_s: Maybe; flow_pm_m3_s?: Maybe; face_velocity_m_s: Maybe;
  criterion: { name: string | null; low: Maybe; high: Maybe; met: boolean | null; odds?: Odds } | null;
  own_fault: boolean; at_limit: boolean;
  may_open: { to_m: Maybe; state_after: Level; binding: string | null; sure?: boolean | null } | null;
}
export interface Air {
  suite_sha256: string; engine: string; scene: unknown; tier: string; solved: boolean;
  unsolved: unknown[]; assumed: string[]; state: Level; act: string; reasons: string[];
  sure?: { weakest: string | null; coverage_ratio: Maybe; counts?: boolean } | null; narrow?: Narrow[]; cannot?: string[];
  pools: Pool[]; lower_first: { ends_short: Lower[]; reaches_ample: Lower[]; ends_short_why?: string | null; reaches_ample_why?: string | null };
  rooms: Room[];
  doors: { id: string; open: boolean; flow_m3_s: Maybe; drop_Pa: Maybe }[];
  supplies: { id: string; running: boolean; flow_m3_s: Maybe; at_limit: boolean;
    feeds?: { id: string; room?: string; flow_m3_s: Maybe }[] }[];
  fans: { id: string; running: boolean | number; flow_m3_s: Maybe; at_limit: boolean }[];
  stations: Station[];
}

// /api/per-cm: what one centimetre more of each raised sash is worth.
export interface PerCm {
  stations: { id: string; why: string | null; asks_m3_s: Maybe; pools: { id: string; headroom_m3_s: Maybe }[];
    keeps: { room: string; over: string; pressure_Pa: Maybe }[] }[];
}

// /api/live: what is believed of now.
export interface Input {
  point: string; of: string; what: string; over?: string; value?: boolean | Maybe;
  value_m?: Maybe; value_m3_s?: Maybe; value_m_s?: Maybe; value_Pa?: Maybe; value_K?: Maybe; value_ratio?: Maybe; value_si?: Maybe;
  t: string | null; age_s: Maybe; quality: string | null; age: 'fresh' | 'old' | 'never' | 'bad' | 'frozen'; used: boolean; source: string;
}
export interface Source { id: string; name: string; kind: string; connected: boolean; heard_age_s: Maybe; why: string | null }
export interface Condition { is: string; text: string; age_s: Maybe; who: string | null; why: string | null; since: string | null }
export interface LiveStation {
  id: string; known: boolean; why: string | null; assumed: boolean; sash: string | null; opening_m: Maybe; measured_m3_s: Maybe;
  present: boolean | null; unattended: boolean; blocked: boolean; withdrawn: boolean; own_alarm: boolean; may_open: Station['may_open'];
  condition: Condition;
}
// What needs a person; shelved ones come last.
export interface Alarm {
  about: string; when: string; priority: 'urgent' | 'high' | 'low'; state: 'active' | 'acknowledged' | 'returned' | 'shelved'; state_text: string;
  is_so: boolean; since: string; since_s: number; message: string; measured: string; action: string; within_s: number; cause: string; consequence: string;
  source: string; who: string | null; until?: string; why?: string; explains: { about: string; when: string; measured: string }[];
}

// What is asked of the person at a station, now or a little while ago.
export interface Errand {
  station: string; state: 'asked' | 'moving' | 'done' | 'cannot' | 'not_needed' | 'not_answered'; state_text: string; open: boolean;
  asked: string; asked_s: number; to_m: Maybe; reads_m: Maybe; measured: boolean; because: string; text: string | null; doubt: string | null;
  who: string | null; why: string | null; until: string | null;
}
// What looks like a fault, by its trace; `about`: one of these.
export interface Guess { kind: string; about: string[]; what: string }
export interface Finding {
  point: string; since: string; kind: string | null; about?: string[]; what?: string; because: string[]; or_else: Guess[];
  next: string | null; who: string | null; tells: string | null; in_notes: boolean; text: string;
}

// What goes out by mail or webhook: sent means that a server took it.
export interface Message { id: string; name: string; by: string; sent: number; not_sent: number; held: number; failing: boolean; last_sent: string | null; why: string | null }

// A run with nobody there: what people told of it.
export interface LiveRun {
  station: string; phase: 'overdue' | 'not_known' | 'runs' | 'cools' | 'may_be_cold'; why: string; entry: number; what: string; holds: string; hazards: string; call: string; second: string | null;
  started: string; until: string; over: string | null; clock_from: string | null; clock_to: string | null; wait: string | null; cold: string | null; last_temperature_K: Maybe; last_read: string | null;
}

export interface LiveView {
  number: number; now: string; now_local: string; zone: string; replay_speed: Maybe; act: string; state: Level; since_s: Maybe; reasons: string[];
  building_alarm: boolean; own_alarms: string[];
  stopped: { act: string; since: string; why: string; next: string; released: string[]; not_released: string[] } | null; // of all work
  not_known: { about: string; text: string; needed: boolean; pools: string[] }[];
  assumed: string[]; pools: Pool[]; lower_first: Air['lower_first'] | null; stations: LiveStation[]; inputs: Input[]; sources: Source[];
  messages?: Message[]; runs?: LiveRun[]; reminders?: { about: string; text: string; since: string | null; told: string | null }[];
  planned?: { about: string; when: string; from: string; until: string; who: string; why: string }[];
  alarms: Alarm[]; errands?: Errand[]; named?: Lower[]; // named: what the act names while the air is short
  looks_like: Finding[]; blind: string[];
  record: { kept: boolean; why: string | null; head: number; head_hash: string | null };
  air: Air | null; earlier: { t: string; age_s: number; air: Air } | null;
}

// /api/entries: what happened and what people said.
export interface Entry { number: number; time: string; time_local: string; kind: string; about: string | null; who: string; text: string; detail: string | null; sha256: string }

export function running(fan: { running: boolean | number }): number {
  return typeof fan.running === 'number' ? fan.running : fan.running ? 1 : 0;
}

export const byId = <T extends { id: string }>(list: T[], id: string): T | undefined =>
  list.find((x) => x.id === id);

// Nothing to raise: a cabinet that draws the same at all times.
export const alwaysOn = (s: PlanStation, now?: Station): boolean =>
  s.parked_m === null && s.work_m === null && now?.sash === 'parked' && now.may_open === null && now.flow_m3_s !== null;

/** `/api/ready`: how each station stands. */
export interface ReadyFact {
  kind: string; says: 'against' | 'contradictory' | 'not_known' | 'condition' | 'noted'; line: string; text: string; next: string | null;
  source: string; who: string | null; at: string | null; age_s: number | null; at_most_s: number | null; until: string | null; by_day?: boolean;
}
export interface ReadyStation {
  station: string; name: string | null; state: 'not_ready' | 'not_known' | 'under_conditions'; line: string; reason: string; next: string | null;
  deck_family: string | null; deck_free: boolean; known_clear: { at: string; who: string; entry: number } | null; facts: ReadyFact[];
}
export interface Ready { now: string; zone: string; caution: string; stations: ReadyStation[] }
