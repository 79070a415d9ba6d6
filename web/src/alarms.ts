// What needs a person: one row an alarm, with what to do, how soon, and who has seen it.
import { clock } from './ages';
import type { Alarm, LiveView, Message } from './contract';
import { $, isPressed, put } from './dom';
import { rank, standing } from './alarm_line';
import { safe } from './svg';

const aside: [string, number][] = [['30 min', 0.5], ['2 h', 2], ['8 h', 8]];

const minutes = (s: number) => s === 0 ? 'at once' : s < 90 ? `within ${s} s` : `within ${Math.round(s / 60)} min`;

function rowHtml(a: Alarm, zone: string): string {
  const waits = a.state === 'active' || a.state === 'returned';
  const state = a.state === 'shelved' ? `put aside by ${a.who} until ${clock(a.until!, zone)}: ${a.why}`
    : a.state === 'acknowledged' ? `seen by ${a.who}` : a.state_text;
  return `<li class="alarm ${a.priority}${a.is_so ? '' : ' over'}"><p class="rank">${rank(a)}</p>` +
    `<div><p class="message">${safe(a.message)}</p>` +
    (a.explains.length ? `<p>It explains: ${a.explains.map((e) => safe(`${e.about}: ${e.measured}`)).join('; ')}</p>` : '') +
    (a.is_so ? `<p class="quiet">since ${clock(a.since, zone)}, act ${minutes(a.within_s)} \u00b7 ${safe(state)} \u00b7 usually: ${safe(a.cause)}` +
      ` \u00b7 if nobody acts: ${safe(a.consequence)}</p></div>` : `<p class="quiet">since ${clock(a.since, zone)} ${safe(state)}</p></div>`) +
    (waits ? `<button type="button" data-seen="${safe(a.about)}">I have seen it</button>` : '') + '</li>';
}

// "Sent" is what a server took; whether anybody reads it is not known.
function messageHtml(m: Message, zone: string): string {
  const held = m.held ? `, ${m.held} held back` : '', gone = `${m.sent} sent${m.last_sent ? `, the last ${clock(m.last_sent, zone)}` : ''}`;
  return `Messages ${safe(m.name)} (${safe(m.by)}): ${gone}, ${m.not_sent} not sent${held}.` + (m.failing ? ` <b>NOT SENT: ${safe(m.why ?? '')}</b>` : '');
}

/** Draws the list; what is being pressed stays until it is let go. */
export function showAlarms(view: LiveView): void {
  if (isPressed($('alarms'))) return;
  const so = standing(view).length, over = view.alarms.filter((a) => a.state === 'returned').length;
  put('alarms', view.alarms.length ? `<ul>${view.alarms.map((a) => rowHtml(a, view.zone)).join('')}</ul>`
    : '<p class="quiet">No alarm stands. What is not measured cannot alarm.</p>');
  put('messages', (view.messages ?? []).map((m) => messageHtml(m, view.zone)).join('<br>'));
  $('alarm-count').textContent = `: ${so} now${over ? `, ${over} over and not acknowledged` : ''}`;
  const parts = [...new Set(view.alarms.filter((a) => a.is_so && a.when !== 'own alarm' && a.when !== 'building alarm').map((a) => a.about))];
  put('aside-about', parts.map((p) => `<option value="${safe(p)}">${safe(p || 'suite')}</option>`).join(''));
  $('aside').hidden = parts.length === 0;
}

/** `enter` posts an entry. */
export function wireAlarms(now: () => string, enter: (body: Record<string, string>) => Promise<void>): void {
  const value = (id: string) => $<HTMLInputElement>(id).value.trim();
  put('aside-for', aside.map(([name, h]) => `<option value="${h}">${name}</option>`).join(''));
  $('alarms').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-seen]');
    const who = $<HTMLInputElement>('alarm-who');
    if (at && who.reportValidity()) void enter({ kind: 'acknowledged', about: at.dataset.seen!, who: who.value.trim(), text: 'seen' });
  });
  $('aside').addEventListener('submit', (e) => {
    e.preventDefault();
    const who = $<HTMLInputElement>('alarm-who');
    if (!who.reportValidity()) return;
    const until = new Date(Date.parse(now()) + Number(value('aside-for')) * 3600e3).toISOString();
    void enter({ kind: 'shelved', about: value('aside-about'), who: who.value.trim(), text: value('aside-why'), until });
  });
}
