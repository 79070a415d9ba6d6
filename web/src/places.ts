// From here to the wall and to each station: a plain list by room.
import type { Plan, Ready } from './contract';
import { $, put, say } from './dom';
import { ask } from './asker';
import { safe } from './svg';
import * as w from './words';

export function showPlaces(): void {
  void begin();
}

async function begin(): Promise<void> {
  try {
    const reply = await ask('/api/plan', '');
    if (!reply.ok) throw new Error(`no plan: ${reply.status}`);
    draw(reply.body as Plan);
  } catch {
    say('places-note', w.board.again);
    window.setTimeout(() => void begin(), 3000);
  }
}

function draw(plan: Plan): void {
  document.title = `Stations · ${plan.name}`;
  say('suite', plan.name);
  say('label', plan.label ?? '');
  $('label').hidden = !plan.label;
  say('places-note', '');
  const own = new URLSearchParams(location.search).get('scene'), scene = own ?? plan.start;
  const query = own === null ? '' : `?scene=${encodeURIComponent(own)}`;
  // Sent only where this page names one: else the wall shows what the board itself does, and that is now where something is connected.
  $<HTMLInputElement>('wall-scene').value = scene;
  $<HTMLInputElement>('wall-scene').disabled = own === null;
  say('scene-name', own === null ? w.words.ownScene : w.words.sceneNamed(scene));
  put('places', plan.rooms.map((room) => {
    const here = plan.stations.filter((s) => s.room === room.id);
    return here.length ? `<section><h2>${safe(room.name)}</h2><ul>` + here.map((s) =>
      `<li><a class="big" href="/station/${s.id}${query}"><b>${s.id}</b> <span>${safe(s.name)}<small class="stands" data-stands="${s.id}"></small></span></a></li>`).join('') + '</ul></section>' : '';
  }).join(''));
  if (own === null) void stand(scene);
  Object.assign(window, { inward: { settled: () => true } });
}

// How each stands, where something is connected; what is not answered is taken away again.
async function stand(scene: string): Promise<void> {
  let stations: Ready['stations'] = [];
  try {
    const reply = await ask('/api/ready', '');
    if (reply.status === 404) { say('scene-name', w.words.sceneNamed(scene)); return; }
    say('scene-name', w.words.sceneNamed('live'));
    if (reply.ok) stations = (reply.body as Ready).stations;
  } catch { /* asked again below */ }
  for (const at of document.querySelectorAll<HTMLElement>('[data-stands]')) {
    const row = stations.find((r) => r.station === at.dataset.stands);
    at.textContent = row ? row.line : w.ready.silent;
    at.dataset.state = row?.state ?? 'not_known';
  }
  window.setTimeout(() => void stand(scene), 10000);
}
