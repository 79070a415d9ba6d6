// The exported page as a colleague meets it: a file, no network, whatever the browser.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { after, before, test } from 'node:test';
import { act, browse, inward, quillmere, serve, settled } from './board.js';
import { exported } from './carried.js';

let browser, page_file;
before(async () => { browser = await browse(); page_file = exported(quillmere, '--scene', 'busy', '--date', '2026-11-25'); });
after(async () => { await browser?.close(); });

// The page with no network at all, and all that it asked for.
async function shown(file, look, { search = '', ready = true, prepare, ...options } = {}) {
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, offline: true, ...options });
  const page = await context.newPage(), asked = [], faults = [];
  if (prepare) await page.addInitScript(prepare);
  page.on('request', (r) => asked.push(r.url()));
  page.on('pageerror', (e) => faults.push(e.message));
  page.on('console', (m) => { if (m.type() === 'error') faults.push(m.text()); });
  try {
    await page.goto(`file://${file}${search}`);
    if (ready) { await page.waitForSelector('.station'); await settled(page); }
    await look(page);
    assert.deepEqual(asked, [`file://${file}${search}`]);
    assert.deepEqual(faults, []);
  } finally {
    await context.close();
  }
}

const note = (page) => page.textContent('#act-note');
const spoiled = (change) => {
  const file = `${page_file}.spoiled.html`, whole = readFileSync(page_file, 'utf8'), bad = change(whole);
  assert.notEqual(bad, whole);
  writeFileSync(file, bad);
  return file;
};
const says = (why) => async (page) => {
  await page.waitForFunction((text) => new RegExp(text).test(document.getElementById('act-note').textContent), why);
  assert.equal(await act(page), 'NOT KNOWN: TREAT AS NO');
  assert.equal(await page.$('.station'), null);
  assert.match(await page.title(), /^TRIAL, not live/);
};

test('the page opens from a file without a network and says what it is', () => shown(page_file, async (page) => {
  assert.equal(await page.title(), 'TRIAL, not live · Air · Quillmere Microfabrication');
  const band = await page.textContent('.carried');
  for (const word of ['TRIAL, not live', 'DEMO', 'Quillmere Microfabrication', '2026-11-25', "suite's\nfigures"]) assert.ok(band.includes(word), word);
  assert.match(band, /suite [0-9a-f]{12}/);
  assert.match(band, /engine \d+\.\d+\.\d+/);
  assert.ok(await page.isVisible('.carried strong'));
  assert.equal(await page.$('a[href]'), null); // nothing to follow: what is not inside is not there
}));

test('the page shows the act that the board shows, in every scene and after changes', async () => {
  const board = await serve(quillmere);
  const native = async (search) => (await (await fetch(`${board.url}api/air?${search}`)).json()).act;
  const questions = ['scene=', 'scene=busy', 'scene=night', 'scene=open-day', 'scene=busy&off=AF/1', 'scene=busy&sash=S1=work',
    'scene=busy&all=work&cover=A2=60%25', 'scene=night&door=D1=open&sash=A1=20cm'];
  try {
    for (const search of questions)
      await shown(page_file, async (page) => assert.equal(await act(page), await native(search), search), { search: `?${search}` });
  } finally {
    await board.stop();
  }
});

test('a sash moved in the page changes the act as the program says', () => shown(page_file, async (page) => {
  const said = (...more) => JSON.parse(spawnSync(inward, ['air', quillmere, '--json', '--scene', 'busy', ...more]).stdout);
  const before = await act(page);
  assert.equal(before, said().act);
  await page.selectOption('#pick', 'A1');
  await page.click('[data-act="work"]');
  await settled(page);
  const now = said('--sash', 'A1=work');
  assert.equal(await act(page), now.act);
  assert.notEqual(now.act, before);
  assert.equal(await page.textContent('#state'), now.state.replace('_', ' '));
  await page.waitForURL(/sash=A1=work/);
  await page.click('#back');
  await settled(page);
  assert.equal(await act(page), before);
}));

test('what a centimetre is worth, and how sure, is in the page as on the board', async () => {
  const board = await serve(quillmere, '--scene', 'busy');
  const read = async (page) => {
    await page.selectOption('#pick', 'A3');
    await page.waitForFunction(() => /1 cm more asks/.test(document.querySelector('#how-sure')?.textContent ?? '') && /1 cm costs most at [AS]/.test(document.querySelector('#pools')?.textContent ?? ''));
    return page.evaluate(() => ['#how-sure', '#pools', '#keeps'].map((id) => document.querySelector(id).textContent));
  };
  const page = await (await browser.newContext()).newPage();
  await page.goto(`${board.url}air?scene=busy`);
  await page.waitForSelector('.station');
  await settled(page);
  const there = await read(page);
  await page.context().close();
  await board.stop();
  await shown(page_file, async (own) => assert.deepEqual(await read(own), there));
});

test('without a date none is shown, and nothing of the folder it came from', async () => {
  const file = exported(quillmere), html = readFileSync(file, 'utf8');
  assert.doesNotMatch(html, /exported \d/);
  assert.equal(html.includes('examples/quillmere'), false);
  await shown(file, async (page) => assert.match(await page.textContent('#foot'), /all parked/));
});

test('the same suite gives the same bytes', () =>
  assert.ok(readFileSync(page_file).equals(readFileSync(exported(quillmere, '--scene', 'busy', '--date', '2026-11-25')))));

test('its policy lets nothing be fetched and nothing else run', () => {
  const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(readFileSync(page_file, 'utf8'))[1];
  assert.match(policy, /^default-src 'none'; script-src 'sha256-[^']+' 'wasm-unsafe-eval'; style-src 'sha256-[^']+'; base-uri 'none'; form-action 'none'$/);
});

test('a name that looks like a script is a name', async () => {
  const file = `${page_file}.yaml`, name = '</script><script>document.title=1</script>&amp;<b>';
  writeFileSync(file, `inward: 1 overlay\nchange: {name: ${JSON.stringify(name)}}\n`);
  await shown(exported(quillmere, '--with', file), async (page) => {
    assert.equal(await page.title(), `TRIAL, not live · Air · ${name}`);
    assert.ok((await page.textContent('.carried')).includes(name));
  });
});

test('a damaged suite is told from a whole one, and nothing is answered', () =>
  shown(spoiled((html) => html.replace('"3 cm"', '"4 cm"').replace('"parked": "', '"parked": "1')), says('damaged'), { ready: false }));

test('a damaged engine is told from a whole one, and nothing is answered', () =>
  shown(spoiled((html) => html.replace(/(data-crc32="[0-9a-f]{8}">\n.{5000})./s, '$1A').replace(/(data-crc32="[0-9a-f]{8}">\n.{5001})./s, '$1B')), says('damaged'), { ready: false }));

test('half a file says in plain words that it has not started', () =>
  shown(spoiled((html) => html.slice(0, html.length / 2)), says('not started'), { ready: false }));

test('a browser without WebAssembly says so', () =>
  shown(page_file, says('does not run WebAssembly'), { ready: false, prepare: () => { delete globalThis.WebAssembly; } }));

// The real engine, which can be told to trap at its next question.
const trapWhenTold = () => {
  const real = WebAssembly.instantiate;
  WebAssembly.instantiate = async (module, imports) => {
    const { exports } = await real(module, imports);
    const ask = (...all) => {
      if (globalThis.trap) throw new WebAssembly.RuntimeError('memory access out of bounds');
      return exports.wasm_ask(...all);
    };
    return { exports: { ...exports, wasm_ask: ask } };
  };
};

test('when the engine stops no old answer stays, and the next question is answered anew', () => shown(page_file, async (page) => {
  const before = await act(page);
  assert.notEqual(before, 'NOT KNOWN: TREAT AS NO');
  await page.evaluate(() => { globalThis.trap = true; });
  await page.selectOption('#pick', 'A1');
  await page.click('[data-act="work"]');
  await page.waitForFunction(() => /stopped: memory access/.test(document.getElementById('act-note').textContent));
  assert.equal(await act(page), 'NOT KNOWN: TREAT AS NO');
  assert.equal(await page.textContent('#state'), 'not known');
  await page.evaluate(() => { globalThis.trap = false; });
  await page.click('#back');
  await page.waitForFunction((text) => document.getElementById('act').textContent === text, before);
}, { prepare: trapWhenTold }));

test('with scripts off the page says so and gives no answer', () => shown(page_file, async (page) => {
  assert.match(await page.innerText('body'), /NOT KNOWN: TREAT AS NO/);
  assert.match(await page.innerText('body'), /Scripts are off/);
  assert.match(await note(page), /not started/);
}, { ready: false, javaScriptEnabled: false }));

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
for (const width of [1920, 1024, 390, 320])
  test(`at ${width} pixels axe finds no fault and nothing but the plan scrolls sideways`, () => shown(page_file, async (page) => {
    await page.evaluate(axe);
    const { violations } = await page.evaluate(() => globalThis.axe.run(document));
    assert.deepEqual(violations.map((v) => `${v.id}: ${v.nodes[0].html.slice(0, 90)}`), []);
    assert.equal(await page.evaluate(() => document.documentElement.scrollWidth), width);
  }, { viewport: { width, height: 900 }, bypassCSP: true }));

test('bad use writes nothing and ends with 2', () => {
  const there = readFileSync(page_file, 'utf8');
  for (const args of [['export'], ['export', quillmere], ['export', quillmere, '-o'], ['export', quillmere, '-o', page_file],
    ['export', quillmere, '-o', `${page_file}.no`, '--scene', 'none'], ['export', quillmere, '-o', `${page_file}.no`, '--date', 'today'],
    ['export', 'no-such-file.yaml', '-o', `${page_file}.no`], ['export', quillmere, '-o', '/'], ['export', page_file, '-o', `${page_file}.no`]]) {
    const got = spawnSync(inward, args);
    assert.equal(got.status, 2, args.join(' ') + got.stderr);
    assert.ok(got.stderr.length > 10);
  }
  assert.equal(readFileSync(page_file, 'utf8'), there);
  assert.throws(() => readFileSync(`${page_file}.no`));
  assert.equal(spawnSync(inward, ['export', quillmere, '--replace', '-o', exported(quillmere)]).status, 0);
  assert.equal(spawnSync(inward, ['export', quillmere, '-o', '/proc/none/x.html']).status, 3);
});
