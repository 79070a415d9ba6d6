// The pages that are read from afar: one small script for all of them.
import { showPlaces } from './places';
import { showStation } from './station';
import { showWall } from './wall';

const pages: Record<string, () => void> = { wall: showWall, station: showStation, stations: showPlaces };
pages[document.body.dataset.page ?? '']?.();
