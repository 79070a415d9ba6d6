// Stops that are announced: what will be so is put aside while it is planned, and told where it lasts.
import { clock } from './ages';
import type { LiveView, Plan } from './contract';
import { $, isPressed, put } from './dom';
import { safe } from './svg';

export function showPlanned(view: LiveView): void {
  if (isPressed($('planned'))) return;
  put('planned', (view.planned ?? []).map((p) => `<p class="planned">Planned: ${safe(p.about || 'the suite')} ${safe(p.when)}, ` +
    `${clock(p.from, view.zone)} to ${clock(p.until, view.zone)}, by ${safe(p.who)}: ${safe(p.why)} ` +
    `<button type="button" data-back="${safe(p.about)}">Take back</button></p>`).join(''));
}

export function wirePlanned(plan: Plan, enter: (body: Record<string, string>) => Promise<void>): void {
  const value = (id: string) => $<HTMLInputElement>(id).value.trim();
  const parts = [...plan.fans, ...plan.supplies, ...plan.doors];
  put('plan-about', parts.map((p) => `<option value="${safe(p.id)}">${safe(p.id)}${'name' in p && p.name ? ` ${safe(String(p.name))}` : ''}</option>`).join(''));
  $('plan-stop').addEventListener('submit', (e) => {
    e.preventDefault();
    const who = $<HTMLInputElement>('alarm-who');
    if (!who.reportValidity()) return;
    void enter({ kind: 'shelved', about: value('plan-about'), who: who.value.trim(), text: value('plan-why'), from: value('plan-from'), until: value('plan-until') });
  });
  $('planned').addEventListener('click', (e) => {
    const at = (e.target as Element).closest<HTMLElement>('[data-back]');
    const who = $<HTMLInputElement>('alarm-who');
    if (at && who.reportValidity()) void enter({ kind: 'unshelved', about: at.dataset.back!, who: who.value.trim(), text: 'the planned stop is taken back' });
  });
}
