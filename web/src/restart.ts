// Whether all work stopped and was not released yet: for the pages that say whether one may begin.
interface Row { about: string | null; state: string | null }
interface Restart { list: string; of: string | null; act: string; needs_person: boolean; sections: { key: string; rows: Row[] }[] }

const every_ms = 20000;
let stopped: Restart | null = null, watching = false;

/** In the largest words; empty where nothing stopped, or nothing is kept that could tell. */
export const stoppedAct = (): string => stopped?.act ?? '';
/** That station is not released. */
export const isStopped = (id: string): boolean =>
  stopped?.sections.find((s) => s.key === 'stations')?.rows.some((r) => r.about === id && (r.state === 'no_work' || r.state === 'flow_seen')) ?? false;

/** No word of opening it: not released, withdrawn, or not on the list that would say so. */
export const waitsForRelease = (id: string): boolean =>
  stopped !== null && !stopped.sections.find((s) => s.key === 'stations')?.rows.some((r) => r.about === id && r.state === 'released');

/** Asks from now on, however often it is called; `changed` when it says something else than before. */
export function watchRestart(changed: () => void): void {
  if (watching) return;
  watching = true;
  const look = async () => {
    try {
      const reply = await fetch('/api/restart');
      const said = reply.ok ? await reply.json() as Restart : null;
      const now = said?.of && said.needs_person ? said : null, differs = JSON.stringify(now?.sections) !== JSON.stringify(stopped?.sections) || now?.act !== stopped?.act;
      stopped = now;
      if (differs) changed();
    } catch { /* the page itself says that the board does not answer; what stopped stays stopped */ }
  };
  void look();
  window.setInterval(() => void look(), every_ms);
}
