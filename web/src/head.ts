// Of every page: "All pages" is closed by Escape, and by a press beside it.  Without a script it opens and closes all the same.
import { sayReplay } from './replay';
import { watchSilence } from './silence';

const every = document.querySelector<HTMLDetailsElement>('.every');

document.addEventListener('keydown', (e) => {
  if (e.key !== 'Escape' || !every?.open) return;
  const inside = every.contains(document.activeElement);
  every.open = false;
  if (inside) every.querySelector('summary')?.focus();
});
document.addEventListener('pointerdown', (e) => {
  if (every?.open && !every.contains(e.target as Node)) every.open = false;
});

void sayReplay();
// Air, the wall and a station say it themselves, where it is read from afar.
if (!document.body.matches('[data-silence=own]')) watchSilence();
