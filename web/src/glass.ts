// Glass on the page of rounds: which mark a no is about, what lost its status and what was done with it, and what is in a drawer.
import { clock } from './ages';
import { ask } from './asker';
import type { GlassMark, Maybe, PlanStation } from './contract';
import { safe } from './svg';
import * as w from './words';

interface Moment { at: string; who: string; entry: number; words: string | null }
interface Case { station: string; mark: string; piece: string | null; count: number; verdict: string; lost: boolean; owner: string | null; times: number; first: Moment; last: Moment; home: Moment | null; left: number }
interface Drawer { station: string; drawer: string | null; piece: string; state: string; suite_count: number; counted: Maybe; when: Moment | null; late: boolean; elsewhere: number }
interface Count { station: string; mark: string; sightings: number; cases: number; mean_per_s: Maybe; low_per_s: Maybe; high_per_s: Maybe }
interface Sightings { since: string | null; unread: number; lost: number; cases: Case[]; counts: Count[]; drawers: Drawer[] }

const month_s = 30 * 86400;
let all: Sightings | null = null;

export async function loadGlass(): Promise<void> {
  const reply = await ask('/api/sightings', '');
  all = reply.ok ? reply.body as Sightings : null;
}

const markOf = (m: GlassMark | null): string => m ? [m.colour, m.shape, m.letter].filter((part) => part).join(' ') : '';

/** Which mark stood there: of a station, none, or one in words. */
export function markFields(stations: PlanStation[], here: string, chosen: string): string {
  const known = stations.filter((s) => s.id !== here && markOf(s.glass_mark)).map((s) => ({ mark: markOf(s.glass_mark), text: `${markOf(s.glass_mark)}: ${s.id}` }));
  const options = [{ mark: '', text: w.glass.notSaid }, ...known, { mark: 'unmarked', text: w.glass.unmarked }, { mark: 'other', text: w.glass.other }];
  const pieces = [...new Set((all?.drawers ?? []).filter((d) => markOf(stations.find((s) => s.id === d.station)?.glass_mark ?? null) === chosen).map((d) => d.piece))];
  return `<div class="acts marks"><label>${w.glass.which} <select id="mark">${options.map((o) => `<option value="${safe(o.mark)}"${o.mark === chosen ? ' selected' : ''}>${safe(o.text)}</option>`).join('')}</select></label>` +
    (chosen === 'other' ? `<label>${w.glass.asSeen} <input id="mark-words" maxlength="60" autocomplete="off" placeholder="violet square F"></label>` : '') +
    (chosen ? `<label>${w.glass.what} <input id="piece" maxlength="80" autocomplete="off" list="pieces"><datalist id="pieces">${pieces.map((p) => `<option value="${safe(p)}">`).join('')}</datalist></label><label>${w.glass.howMany} <input id="mark-count" type="number" min="1" max="1000" inputmode="numeric" value="1"></label>` : '') + '</div>';
}

const text = (c: Case): string => `${safe(c.mark)}${c.piece ? `, ${safe(c.piece)}` : ''}${c.left > 1 ? ` (${c.left})` : ''}`;

function caseHtml(c: Case, zone: string, acts: boolean): string {
  const n = c.first.entry, state = c.lost ? 'lost' : 'visits';
  const home = c.home ? ` ${w.glass.home(clock(c.home.at, zone), c.lost)}` : '', said = c.last.words ? ` ${w.round.said(safe(c.last.words))}` : '';
  return `<section class="panel item glass ${state}" data-glass="${n}"><div class="title"><h2>${acts ? '' : `${safe(c.station)}: `}${text(c)}</h2><span class="word ${state}">${w.glass.state[state]}</span></div>` +
    `<p>${w.glass.verdict(c.verdict, safe(c.owner))}</p><p class="soft">${w.glass.seen(clock(c.first.at, zone), c.times, clock(c.last.at, zone), n)}${said}${home}</p>` +
    (acts ? `<div class="acts"><label>${w.glass.how} <input id="how-${n}" maxlength="300" autocomplete="off"></label><button type="button" class="do" data-glass-act="cleaned" data-entry="${n}">${w.glass.cleaned}</button></div>` +
      `<div class="acts"><button type="button" class="do" data-glass-act="discarded" data-entry="${n}">${w.glass.discarded}</button><button type="button" class="do" data-glass-act="taken-back" data-entry="${c.last.entry}">${w.glass.wrongly(c.last.entry)}</button></div>` : '') + '</section>';
}

function drawerHtml(d: Drawer, i: number, zone: string): string {
  const told = d.when ? w.glass.counted(d.counted ?? 0, d.suite_count, clock(d.when.at, zone)) : w.glass.neverCounted(d.suite_count);
  return `<section class="panel item drawer ${d.state}" data-drawer="${i}"><div class="title"><h2>${safe(d.piece)} <span>${w.glass.drawer(safe(d.drawer))}</span></h2><span class="word ${d.state}">${w.glass.drawerState(d.state, Math.abs((d.counted ?? 0) - d.suite_count))}</span></div>` +
    `<p class="soft">${told}${d.elsewhere ? ` ${w.glass.elsewhere(d.elsewhere)}` : ''}</p><div class="acts"><label>${w.glass.inIt} <input id="in-${i}" type="number" min="0" max="1000" inputmode="numeric"></label><button type="button" class="do" data-glass-act="counted" data-row="${i}">${w.glass.write}</button></div></section>`;
}

/** At a station: what stands there that should not, and its drawers.  In the list: all that lost its status. */
export function glassHtml(station: string, zone: string): string {
  if (!all) return '';
  const open = all.cases.filter((c) => c.left > 0 && (!station || c.station === station));
  const unread = all.unread ? `<p class="panel">${w.glass.unread(all.unread)}</p>` : '';
  if (!station) {
    const lost = open.filter((c) => c.lost), short = all.drawers.filter((d) => d.state === 'missing' || d.state === 'too_many');
    return unread + (lost.length + short.length ? `<h2 class="group">${w.glass.head}</h2>` : '') + lost.map((c) => `<a class="go row-of" href="/round?station=${encodeURIComponent(c.station)}"><b>${safe(c.station)}</b> <span>${text(c)}</span><span class="word lost">${w.glass.state.lost}</span><small>${w.glass.verdict(c.verdict, safe(c.owner))} ${w.glass.seen(clock(c.first.at, zone), c.times, clock(c.last.at, zone), c.first.entry)}</small></a>`).join('') +
      short.map((d) => `<a class="go row-of" href="/round?station=${encodeURIComponent(d.station)}"><b>${safe(d.station)}</b> <span>${safe(d.piece)}</span><span class="word ${d.state}">${w.glass.drawerState(d.state, Math.abs((d.counted ?? 0) - d.suite_count))}</span></a>`).join('');
  }
  const often = all.counts.filter((c) => c.station === station).map((c) => `<p class="panel soft">${w.glass.often(safe(c.mark), c.sightings, all!.since ? clock(all!.since, zone) : '', c.low_per_s === null ? null : c.low_per_s * month_s, c.high_per_s === null ? null : c.high_per_s * month_s)}</p>`).join('');
  const drawers = all.drawers.map((d, i) => d.station === station ? drawerHtml(d, i, zone) : '').join('');
  return unread + (open.length || drawers || often ? `<h2 class="group">${w.glass.head}</h2>` : '') + open.map((c) => caseHtml(c, zone, true)).join('') + often + drawers;
}

/** What a pressed button tells; null: something is to be filled in first. */
export function glassTold(button: HTMLElement): Record<string, string> | null {
  const act = button.dataset.glassAct!, field = (id: string): HTMLInputElement | null => document.getElementById(id) as HTMLInputElement | null;
  const need = (id: string): string | null => { const at = field(id); if (at && !at.value.trim()) { at.focus(); return null; } return at?.value.trim() ?? null; };
  if (act === 'counted') {
    const d = all?.drawers[Number(button.dataset.row)], count = need(`in-${button.dataset.row}`);
    return d && count !== null ? { act, about: d.station, piece: d.piece, count, ...(d.drawer ? { drawer: d.drawer } : {}) } : null;
  }
  const entry = button.dataset.entry!;
  if (act !== 'cleaned') return { act, entry };
  const how = need(`how-${entry}`);
  return how === null ? null : { act, entry, how };
}
