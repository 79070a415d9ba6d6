// Whether all work stopped and was not released yet: for the pages that say whether one may begin.
import type { LiveView } from './contract';

let stopped: LiveView['stopped'] = null;

/** With each view, before it is drawn. */
export function hearStop(view: LiveView): void {
  stopped = view.stopped;
}

/** In the largest words; empty where nothing stopped, or nothing is kept that could tell. */
export const stoppedAct = (): string => stopped?.act ?? '';
/** That station is not released. */
export const isStopped = (id: string): boolean => stopped?.not_released.includes(id) ?? false;
/** No word of opening it: not released, or withdrawn. */
export const waitsForRelease = (id: string): boolean => stopped !== null && !stopped.released.includes(id);
