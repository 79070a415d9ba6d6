// The Air page against the real server.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { join } from 'node:path';
import { act, axe, browse, here, line, looks, open, resized, serve, settled, state, suite } from './board.js';

let server, listed, browser;

before(async () => {
  server = await serve(suite, '--scene', 'busy');
  listed = await serve(join(here, 'fixtures', 'list.yaml'));
  browser = await browse();
});
after(async () => { await browser?.close(); await server?.stop(); await listed?.stop(); });

const shown = async (query, run, options = {}, from = server) => {
  const page = await open(browser, from.url + query, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const answer = async (query) => (await fetch(`${server.url}api/air?${query}`)).json();

test('the page says the act, the state and that the station alarm decides', () => shown('?scene=busy', async (page) => {
  const air = await answer('scene=busy');
  assert.equal(air.state, 'near_limit');
  assert.equal(await act(page), air.act);
  assert.equal(await state(page), 'near limit');
  assert.equal(await page.textContent('#act-note'), "Shared air only. Your station's own alarm decides.");
  assert.equal(await page.textContent('#label'), 'DEMO');
  assert.equal(await page.textContent('h1'), 'May I open another sash, and if not, what helps?');
}));

test('act and state are large enough to be read across a room, and nothing scrolls at 1920 by 1080', () => shown('?scene=all-open', async (page) => {
  const size = (id) => page.$eval(id, (e) => parseFloat(getComputedStyle(e).fontSize));
  assert.ok(await size('#act') >= 72 && await size('#state') >= 72);
  const box = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.scrollHeight]);
  assert.deepEqual(box, [1920, 1080]);
}));

test('a button moves a sash, and with it the answer and the address', () => shown('?scene=quiet', async (page) => {
  await page.selectOption('#pick', 'A2');
  await page.click('[data-act="work"]');
  await settled(page);
  assert.equal(await line(page, 'A2', 1), '45 cm');
  assert.equal(await act(page), (await answer('scene=quiet&sash=A2=work')).act);
  await page.waitForFunction(() => location.search.includes('sash=A2=work'));
  for (let i = 0; i < 2; i++) await page.click('[data-act="less"]');
  await settled(page);
  assert.equal(await line(page, 'A2', 1), '43 cm');
  await page.click('[data-act="parked"]');
  await settled(page);
  assert.equal(await line(page, 'A2', 1), 'parked');
}));

test('keys move the sash that has the focus, and the focus stays', () => shown('?scene=quiet', async (page) => {
  await page.focus('[data-id="A2"]');
  await page.keyboard.press('w');
  await page.keyboard.press('ArrowUp');
  await page.keyboard.press('PageDown');
  await settled(page);
  assert.equal(await line(page, 'A2', 1), '41 cm');
  assert.equal(await page.getAttribute('[data-id="A2"]', 'aria-valuenow'), '41');
  assert.equal(await page.evaluate(() => document.activeElement.getAttribute('data-id')), 'A2');
  await page.keyboard.press('Home');
  await settled(page);
  assert.equal(await line(page, 'A2', 1), 'parked');
}));

test('dragging a sash keeps one question on its way and loses no last answer', () => shown('?scene=quiet', async (page) => {
  let most = 0, now = 0;
  page.on('request', (r) => { if (r.url().includes('/api/air')) most = Math.max(most, ++now); });
  page.on('requestfinished', (r) => { if (r.url().includes('/api/air')) now--; });
  page.on('requestfailed', (r) => { if (r.url().includes('/api/air')) assert.fail('an answer was thrown away'); });
  const box = await (await page.$('[data-id="A2"] .box')).boundingBox();
  await page.mouse.move(box.x + 15, box.y + 50);
  await page.mouse.down();
  for (let i = 1; i <= 60; i++) await page.mouse.move(box.x + 15, box.y + 50 - i);
  await page.mouse.up();
  await settled(page);
  const cm = Number.parseInt(await line(page, 'A2', 1), 10);
  assert.ok(cm > 25 && cm < 60, `dragged to ${cm} cm`);
  const air = await answer(`scene=quiet&sash=A2=${(cm / 100).toFixed(2)}m`);
  assert.equal(await act(page), air.act);
  const flow = air.stations.find((s) => s.id === 'A2').flow_m3_s * 3600;
  assert.equal(Number((await line(page, 'A2', 2)).replace(/[^\d]/g, '').slice(0, 4)), Math.round(flow / 10) * 10);
  assert.equal(most, 1);
  const counts = await page.evaluate(() => window.inward.counts());
  assert.equal(counts.sent, counts.answered);
}));

// How long a step takes is measured by bench/bench_pages.mjs.
test('each step of a sash asks once, and the frame after the answer shows it', () => shown('?scene=quiet', async (page) => {
  await page.selectOption('#pick', 'A2');
  await page.click('[data-act="work"]');
  await settled(page);
  const steps = await page.evaluate(async () => {
    const seen = [];
    for (let i = 0; i < 6; i++) {
      const before = window.inward.counts();
      document.querySelector('[data-act="less"]').click();
      while (window.inward.counts().answered === before.answered) await new Promise((r) => setTimeout(r, 1));
      await new Promise((r) => requestAnimationFrame(() => r()));
      const after = window.inward.counts();
      seen.push({ asked: after.sent - before.sent, text: document.querySelector('[data-id="A2"]').textContent });
    }
    return seen;
  });
  for (const [i, { asked, text }] of steps.entries()) {
    const { flow_m3_s } = (await answer(`scene=quiet&sash=A2=0.${44 - i}m`)).stations.find((s) => s.id === 'A2');
    assert.equal(asked, 1);
    assert.match(text, new RegExp(`${44 - i} cm`));
    assert.match(text.replaceAll(/(?<=\d)\D(?=\d{3})/g, ''), new RegExp(`${Math.round(flow_m3_s * 360) * 10}`));
  }
}));

test('an open door, a stopped fan and a covered deck change the answer', () => shown('?scene=busy', async (page) => {
  await page.click('[data-act="door"][data-of="D1"]');
  await settled(page);
  assert.equal(await act(page), (await answer('scene=busy&door=D1=open')).act);
  assert.equal(await page.getAttribute('[data-door="D1"]', 'aria-checked'), 'true');
  await page.click('[data-door="D1"]');
  await settled(page);
  assert.equal(await page.isHidden('#trial'), true);
  await page.click('[data-act="fan"][data-of="AF"]');
  await settled(page);
  const one = await answer('scene=busy&off=AF/2');
  assert.equal(one.fans[0].running, 1);
  assert.equal(await act(page), one.act);
  // what was pressed is drawn anew a moment after the press, and the answer may come sooner
  await page.waitForFunction(() => /1\/2/.test(document.querySelector('[data-act="fan"][data-of="AF"]').textContent));
  await page.click('[data-fan="AF"][data-unit="1"]');
  await settled(page);
  assert.equal(await page.isHidden('#trial'), true);
  await page.selectOption('#pick', 'B1');
  await page.click('[data-act="cover"][data-to="60"]');
  await settled(page);
  await page.waitForFunction(() => location.search.includes('cover=B1=60'));
}));

test('a covered deck, by keys alone: what it does to the face, and that one must not', () => shown('?scene=busy', async (page) => {
  await page.selectOption('#pick', 'B1');
  await page.focus('[data-act="cover"][data-to="100"]');
  await page.keyboard.press('Enter');
  await settled(page);
  await page.waitForFunction(() => /uncovered/.test(document.querySelector('#deck-why')?.textContent ?? ''));
  const face = async (query) => (await answer(query)).stations.find((s) => s.id === 'B1').face_velocity_m_s.toFixed(2);
  const [open, covered] = [await face('scene=busy'), await face('scene=busy&cover=B1=100%25')];
  assert.ok(Number(covered) > Number(open) * 1.2);
  const words = await page.textContent('#deck-why');
  assert.ok(words.includes(`${open} m/s uncovered, ${covered} m/s covered`), words);
  assert.match(words, /Never cover a deck/);
  assert.match(await page.textContent('#trial'), /TRIAL, not live/);
  assert.equal(await page.evaluate(() => document.activeElement.dataset.to), '100'); // the focus stays
  await page.keyboard.press('Shift+Tab');
  await page.keyboard.press('Shift+Tab');
  await page.keyboard.press('Shift+Tab');
  await page.keyboard.press('Space');
  await settled(page);
  assert.equal(await page.isHidden('#trial'), true);
  assert.equal(await page.$('#deck-why'), null);
}));

test('a trial says so, shows what changes, can be shared and left', () => shown('?scene=busy&sash=A2=parked', async (page) => {
  assert.match(await page.textContent('#trial'), /TRIAL, not live/);
  assert.match(await page.textContent('#trial-what'), /1 change to scene busy/);
  assert.match(await page.textContent('#why'), /near limit.*ample/s);
  assert.equal(await act(page), (await answer('scene=busy&sash=A2=parked')).act);
  await page.click('#back');
  await settled(page);
  await page.waitForFunction(() => !location.search.includes('sash'));
}));

test('each pool says its \u00b1, and the weakest figure stands under the reasons with where to find it', () => shown('?scene=busy', async (page) => {
  const air = await answer('scene=busy'), pools = await page.textContent('#pools'), why = await page.textContent('#why');
  for (const p of air.pools) {
    const give = Math.round(p.headroom_pm_m3_s * 360) * 10;
    assert.ok(give > 0 && pools.includes(`\u00b1 ${give.toLocaleString('en-GB')}`), `${p.id} \u00b1 ${give}: ${pools}`);
  }
  const most = 1 - Math.min(...air.pools.map((p) => p.odds.met_least_ratio));
  assert.equal(/ that something is missed|almost surely something is missed/.test(pools), most >= 0.01, `${most}: ${pools}`);
  assert.ok(air.narrow.length > 0);
  assert.match(why, /Weakest figure: /);
  assert.ok(why.includes(air.narrow[0].find));
  for (const c of air.cannot) assert.ok(why.includes(c));
}));

const told = (page, id, pattern) => page.waitForFunction(([at, text]) => new RegExp(text).test(document.querySelector(at)?.textContent ?? ''), [id, pattern]);
const perHour = (m3_s) => String(Math.round(Math.abs(m3_s) * 3600));

test('a chosen station says its \u00b1, how likely its criterion is missed, by which figures, and what a centimetre is worth', () => shown('?scene=busy', async (page) => {
  const air = await answer('scene=busy'), cm = await (await fetch(`${server.url}api/per-cm?scene=busy`)).json();
  await page.selectOption('#pick', 'A2');
  await told(page, '#how-sure', '1 cm more asks');
  const text = (await page.$$eval('#how-sure p', (all) => all.map((e) => e.textContent))).join('; '), a2 = air.stations.find((s) => s.id === 'A2'), worth = cm.stations.find((s) => s.id === 'A2');
  assert.ok(text.includes(`\u00b1 ${Math.round(a2.flow_pm_m3_s * 360) * 10}`), text);
  assert.ok(text.includes(`asks ${perHour(worth.asks_m3_s)} m\u00b3/h`), text);
  for (const p of worth.pools) if (Math.abs(p.headroom_m3_s ?? 0) * 3600 > 1) assert.match(text, new RegExp(`${perHour(p.headroom_m3_s)} m\u00b3/h less left in [^;]*\\b${p.id}\\b`));
  for (const p of air.pools) {
    const most = Math.max(...cm.stations.map((s) => -(s.pools.find((q) => q.id === p.id).headroom_m3_s ?? 0)));
    if (most * 3600 > 1) assert.ok((await page.textContent('#pools')).includes(`: ${perHour(most)} m\u00b3/h`), p.id);
  }
  const odds = a2.criterion?.odds;
  if (odds?.causes.length) {
    await page.focus('#how-sure summary');
    await page.keyboard.press('Enter');
    await page.waitForSelector('#how-sure details[open] li');
    const list = await page.textContent('#how-sure ol');
    for (const c of odds.causes) assert.ok(c.find === null || list.includes(c.find), c.find);
  }
  // A trial has its own, and what was opened stays open.
  await page.click('[data-act="parked"]');
  await settled(page);
  await page.waitForFunction(() => !/1 cm more asks/.test(document.querySelector('#how-sure')?.textContent ?? ''));
}));

test('each keep says how likely it is missed, and its causes on request', () => shown('?scene=busy', async (page) => {
  const air = await answer('scene=busy'), keeps = air.rooms.flatMap((r) => r.keeps.map((k, i) => ({ ...k, at: `keep:${r.id}:${i}` })));
  if (await page.$('#keeps > details[data-key="keeps"]')) await page.click('#keeps > details[data-key="keeps"] > summary');
  for (const k of keeps) {
    const at = `#keeps details[data-key="${k.at}"]`, most = 1 - k.odds.met_least_ratio;
    await page.waitForSelector(at);
    assert.match(await page.textContent(`${at} > summary`), most < 0.01 ? /under 1 in 100 that it is missed/ : / in \d+ that it is missed|almost surely missed/);
    await page.click(`${at} > summary`);
    await page.waitForSelector(`${at}[open]`);
    assert.equal(await page.locator(`${at} li`).count(), k.odds.causes.length);
  }
  assert.deepEqual((await axe(page)).broken, []);
}));

test('the scene chooser goes to every scene of the file', () => shown('', async (page) => {
  for (const id of ['quiet', 'busy', 'all-open', '']) {
    await page.selectOption('#scene', id);
    await settled(page);
    assert.equal(await act(page), (await answer(`scene=${id}`)).act);
  }
}));

test('widths add up: every strand has one scale, and the ribbons into the fans carry them all', () => shown('?scene=busy', async (page) => {
  const air = await answer('scene=busy');
  const paths = await page.$$eval('.air path.duct', (all) => all.map((p) => ({ of: p.dataset.of, d: p.getAttribute('d'), width: p.getBBox().width })));
  const flow = (id) => air.stations.find((s) => s.id === id).flow_m3_s;
  const upright = paths.filter((p) => p.of && /^M[-\d. ]+H[-\d.]+V[-\d.]+H[-\d.]+Z$/.test(p.d));
  const scale = upright.filter((p) => p.of !== 'X1').map((p) => p.width / flow(p.of));
  assert.equal(scale.length, 4); // the bench's strand is parted by its deck
  const k = scale[0];
  scale.forEach((other) => assert.ok(Math.abs(other / k - 1) < 0.01, `px per m3/s: ${scale}`));
  const thick = paths.filter((p) => !p.of).map((p) => {
    const [, top, bottom] = /C.* ([-\d.]+)L[-\d.]+ ([-\d.]+)C/.exec(p.d).map(Number);
    return bottom - top;
  });
  const fans = air.fans.reduce((a, f) => a + f.flow_m3_s, 0), drawn = thick.reduce((a, b) => a + b, 0);
  assert.equal(thick.length, 3); // two acid fans, one solvent fan
  assert.ok(Math.abs(drawn / (k * fans) - 1) < 0.01, `${drawn} px for ${fans} m3/s at ${k} px per m3/s`);
}));

test('a refused question is not known, never the old answer', () => shown('?scene=busy&sash=NONE=work', async (page) => {
  assert.equal(await act(page), 'NOT KNOWN: TREAT AS NO');
  assert.equal(await state(page), 'not known');
  assert.match(await page.textContent('#act-note'), /NONE/);
  assert.notEqual(await page.$eval('.plan', (e) => getComputedStyle(e, '::after').backgroundImage), 'none');
}));

// ---- looks ----

test('the four states differ without colour: by word and by shape', async () => {
  const seen = new Map();
  for (const query of ['?scene=quiet', '?scene=busy', '?scene=all-open', '?scene=busy&door=NONE=open'])
    await shown(query, async (page) => {
      await page.addStyleTag({ content: 'html { filter: grayscale(1); }' });
      const shape = await (await page.$('#act-shape')).screenshot();
      seen.set(await state(page), shape.toString('base64'));
    }, looks);
  assert.deepEqual([...seen.keys()].sort(), ['ample', 'near limit', 'not known', 'short']);
  assert.equal(new Set(seen.values()).size, seen.size);
});

for (const [name, query, options] of [
  ['short, in a trial', '?scene=all-open&door=D1=open', {}], ['a narrow window', '?scene=busy', { viewport: { width: 320, height: 640 } }],
])
  test(`no accessibility rule is broken: ${name}`, () => shown(query, async (page) => {
    const { broken, passes } = await axe(page);
    assert.deepEqual(broken, []);
    assert.ok(passes > 10);
  }, { ...options, ...looks }));

test('at 320 pixels nothing but the plan scrolls sideways', () => shown('?scene=busy', async (page) => {
  assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), 320);
  const wide = await page.$$eval('body *', (all) => all.filter((e) => !e.closest('.plan') && e.getBoundingClientRect().right > 321).map((e) => e.tagName + '.' + e.className));
  assert.deepEqual(wide, []);
  assert.ok(await page.isVisible('#list'));
}, { viewport: { width: 320, height: 640 } }));

test('every button is at least 44 pixels high', () => shown('?scene=busy', async (page) => {
  const small = await page.$$eval('button, select, .door .hit, .fan .hit, .supply .hit', (all) => all.filter((e) => e.getBoundingClientRect().height > 0 && e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML.slice(0, 60)));
  assert.deepEqual(small, []);
}));

test('units change at one switch', () => shown('?scene=busy', async (page) => {
  await page.click('#units');
  assert.equal(await page.getAttribute('#units', 'aria-pressed'), 'true');
  assert.match(await page.evaluate(() => location.search), /units=us/);
  assert.match(await page.textContent('#pools'), /cfm/);
  assert.doesNotMatch(await page.textContent('#pools'), /m³\/h/);
  assert.match(await page.textContent('[data-part="keep:Gown:0"]'), /inWC/);
  await page.selectOption('#pick', 'A2');
  await page.click('[data-act="parked"]');
  await page.waitForFunction(() => /sash=A2=parked&units=us/.test(location.search));
  await page.reload();
  await settled(page);
  assert.match(await page.textContent('#pools'), /cfm/);
  await page.click('#units');
  assert.match(await page.textContent('#pools'), /m³\/h/);
  assert.doesNotMatch(await page.evaluate(() => location.search), /units/);
}));

test('forced colours and paper keep the words', () => shown('?scene=all-open', async (page) => {
  await page.emulateMedia({ forcedColors: 'active', reducedMotion: 'reduce' });
  assert.ok(await page.isVisible('#act') && await page.isVisible('#state'));
  await page.emulateMedia({ media: 'print', forcedColors: 'none' });
  assert.ok(await page.isVisible('#act') && await page.isVisible('#list'));
  assert.ok(await page.isHidden('#panel-try'));
}));

test('a station without figures for its sash goes to work and back by its buttons', () => shown('', async (page) => {
  await page.selectOption('#pick', 'FH-02');
  await page.click('[data-act="work"]');
  await settled(page);
  assert.equal(await line(page, 'FH-02', 1), 'at work');
  assert.equal(await page.isVisible('[data-act="more"]'), false);
  await page.click('[data-act="parked"]');
  await settled(page);
  assert.equal(await line(page, 'FH-02', 1), 'parked');
  assert.equal(await page.isHidden('#trial'), true);
}, {}, listed));

test('a cabinet that is always on has no sash to move', () => shown('?scene=busy', async (page) => {
  assert.equal(await line(page, 'C1', 1), 'always on');
  await page.selectOption('#pick', 'C1');
  assert.equal(await page.isVisible('[data-act="work"]'), false);
}));

test('ids as long as lists have them end before the next station, at every width', () => shown('', async (page) => {
  for (const width of [390, 1280, 1920]) {
    await resized(page, { width, height: 900 });
    const met = await page.$$eval('.air-plan .station', (all) => {
      const boxes = all.map((e) => e.querySelector('.box').getBoundingClientRect());
      return all.flatMap((e) => [...e.querySelectorAll('.st-id, .st-mark')].flatMap((part) => {
        const a = part.getBoundingClientRect();
        return boxes.filter((b) => part.textContent + part.innerHTML && a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
          .map(() => `${e.dataset.id} ${part.getAttribute('class')}`);
      }));
    });
    assert.deepEqual(met, [], `${width} px`);
    assert.equal(await line(page, 'CAB-06', 1), 'always on');
    assert.match(await page.textContent('#foot'), /not live/);
  }
}, {}, listed));

test('a press is a click though the plan is drawn anew before the release', () => shown('?scene=quiet', async (page) => {
  const middle = async (of) => { const b = await (await page.$(of)).boundingBox(); return [b.x + b.width / 2, b.y + b.height / 2]; };
  await page.mouse.move(...await middle('[data-door="D1"] .hit'));
  await page.mouse.down();
  await resized(page, { width: 1920, height: 1040 });
  await page.mouse.move(...await middle('[data-door="D1"] .hit'));
  await page.mouse.up();
  await page.waitForSelector('[data-door="D1"][aria-checked="true"]');
  await page.waitForFunction(() => document.querySelector('.air-plan').getAttribute('height') === String(document.querySelector('#plan-box').clientHeight - 2));
}));

test('the act is announced, the seconds that pass without an answer are not', () => shown('?scene=busy', async (page) => {
  assert.equal(await page.getAttribute('#act', 'aria-live'), 'polite');
  assert.equal(await page.$$eval('#act-note, #age', (all) => all.some((e) => e.closest('[aria-live], [role=status]'))), false);
}));
