// The pages of the board, in the order in which every page links to them.  build.mjs makes each head from this list, and
// pages.html for those that the board writes itself (`written`).  A new page: a line here, its files in web/meson.build,
// its address in src/serve/route.c; web/test/pages.test.js says what is forgotten.
export interface Page {
  path: string; word: string; question: string;
  first?: 'always' | 'wide';  // stands in the head itself: on every screen, or where there is room; all stand under "All pages"
  file?: string;              // its document, where it is not called like its path
  script?: string;            // its script, where it borrows another's
  style?: string;             // its style sheet, where it borrows another's
  written?: true;             // by the board: no document here, and a script or a style only where one is named
  under?: string;             // not linked to itself, but from that page
}
export interface Group { name: string; pages: Page[] }

export const groups: Group[] = [
  { name: 'Now', pages: [
    { path: '/air', word: 'Air', question: 'May I open another sash, and if not, what helps?', first: 'always', file: 'page.html', script: 'app', style: 'app' },
    { path: '/wall', word: 'Wall', question: 'May I open another sash?', first: 'wide', script: 'far', style: 'far' },
    { path: '/stations', word: 'Stations', question: 'Where do you stand?', first: 'always', script: 'far', style: 'far' },
    { path: '/station', word: 'Station', question: 'May I start here now?', script: 'far', style: 'far', under: '/stations' },
  ] },
  { name: 'Ahead', pages: [
    { path: '/day', word: 'Day', question: 'Will the air last today?', first: 'always' },
    { path: '/together', word: 'Together', question: 'Who may work together, and what if a part is lost?' },
  ] },
  { name: 'At work', pages: [
    { path: '/may', word: 'Rules', question: 'Do the rules let me start this here?' },
    { path: '/bath', word: 'Bath card', question: 'How do I make this, and may I make it here?' },
    { path: '/baths', word: 'Baths of the day', question: 'Which bath stands where, and what is due?' },
    { path: '/round', word: 'Rounds', question: 'What did somebody see here, and when?' },
    { path: '/run', word: 'Runs', question: 'What runs or cools with nobody there?', style: 'round' },
    { path: '/tell', word: 'Tell', question: 'What must be told?', first: 'wide', style: 'record' },
  ] },
  { name: 'What was', pages: [
    { path: '/record', word: 'Record', question: 'What happened?', first: 'always' },
    { path: '/match', word: 'Match', question: 'Does the model match the building?' },
    { path: '/past', word: 'Why', question: 'Why did it turn?', written: true },
    { path: '/night', word: 'Night', question: 'What did the night cost, and why?', written: true },
    { path: '/alarms', word: 'Alarms', question: 'Which alarms help, and which are noise?', written: true },
  ] },
  { name: 'Lists to take along', pages: [
    { path: '/leave', word: 'Leave', question: 'What is left behind?', written: true, script: 'lists', style: 'lists' },
    { path: '/responder', word: 'Responder', question: 'What is in there?', written: true, script: 'lists', style: 'lists' },
    { path: '/restart', word: 'Restart', question: 'May work begin again?', written: true, script: 'lists', style: 'lists' },
    { path: '/handover', word: 'Handover', question: 'What was seen?', written: true, script: 'lists', style: 'lists' },
  ] },
];

export const allPages = 'All pages';

export const pages = groups.flatMap((g) => g.pages);
export const fileOf = (p: Page) => p.file ?? `${p.path.slice(1)}.html`;
const named = (of: 'script' | 'style') => [...new Set(pages.map((p) => p[of] ?? (p.written ? '' : p.path.slice(1))).filter(Boolean))];
export const scripts = named('script'), styles = named('style');

/** The links, the present page marked; of a page that stands under another, the other. */
export function linksHtml(present?: Page): string {
  const mark = (p: Page) => p === present ? ' aria-current="page"' : present?.under === p.path ? ' aria-current="true"' : '';
  const linked = pages.filter((p) => !p.under);
  return `<nav class="pages" aria-label="Pages">${linked.map((p) => `<a href="${p.path}" class="${p.first ?? 'more'}"${mark(p)}>${p.word}</a>`).join('')}` +
    `<details class="every"><summary>${allPages}</summary><div class="sheet">${groups.map((g) => `<div><p>${g.name}</p><ul>${g.pages.filter((p) => !p.under).map((p) =>
      `<li><a href="${p.path}"${mark(p)}><b>${p.word}</b> ${p.question}</a></li>`).join('')}</ul></div>`).join('')}</div></details></nav>`;
}

/** What each head begins with. */
export const headHtml = (p: Page): string =>
  '<svg class="mark" viewBox="0 0 32 32" aria-hidden="true"><path d="M3 9h9c8 0 8 7 17 7M3 16h26M3 23h9c8 0 8-7 17-7"/></svg>' +
  `<p class="suite"><span id="suite"></span> <span id="label" class="label" hidden></span></p><h1>${p.question}</h1>${linksHtml(p)}`;
