// A board that is killed in the middle of a word: within ten seconds no page gives advice, and none has to be
// loaded anew when the board is back.  One browser, so that all its pages share one stream.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browse, here, serve, suite } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-lost-'));
let browser;
before(async () => { browser = await browse(); });
after(async () => { await browser?.close(); rmSync(folder, { recursive: true, force: true }); });

// What is read from afar on each page, and where it says that nobody answers.
const pages = {
  air: { large: ['#act', '#state'], note: '#act-note', act: '#act', hatched: ['.plan', '::after'] },
  wall: { large: ['#act', '#state', '#pools', '#lower', '#live'], note: '#age', act: '#act', hatched: ['.act'] },
  'station/A2': { large: ['#line', '#state', '#live'], note: '#why', act: '#line', hatched: ['.act'] },
};
const shows = (page, of, words, timeout) => page.waitForFunction(([at, re]) => new RegExp(re).test(document.querySelector(at).textContent), [of, words], { timeout });

const kinds = {
  'a scene of the file': ['--scene', 'busy'],
  'what is live': ['--with', join(here, 'fixtures', 'connected.yaml'), '--record', join(folder, 'l.record')],
};
for (const [kind, options] of Object.entries(kinds))
  test(`a board that showed ${kind} is killed: not known within ten seconds, no figure in large words, and back by itself`, async () => {
    let board = await serve(suite, ...options);
    const { port, url } = board, context = await browser.newContext({ viewport: { width: 1920, height: 1080 } }), faults = [];
    try {
      if (/live/.test(kind))
        for (const [point, value] of [['A1-sash', '3 cm'], ['A1-flow', '300 m3/h'], ['A1-there', 'no']]) {
          const [figure, unit] = value.split(' ');
          const reply = await fetch(`${url}api/hand`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ point, value: figure, unit, who: 'test' }) });
          assert.equal(reply.status, 200);
        }
      const open = await Promise.all(Object.entries(pages).map(async ([path, of]) => {
        const page = await context.newPage();
        page.on('pageerror', (e) => faults.push(e.message));
        await page.goto(url + path);
        await page.waitForFunction((at) => !/NOT KNOWN/.test(document.querySelector(at).textContent), of.act);
        return { path, of, page, before: await page.textContent(of.act) };
      }));
      const began = Date.now();
      await board.stop('SIGKILL');
      for (const { path, of, page } of open) {
        await shows(page, of.act, '^NOT KNOWN:\\sTREAT AS NO$', 12000);
        assert.ok(Date.now() - began < 10000, `${path} after ${Date.now() - began} ms`);
        await shows(page, of.note, 'No answer for \\d+ s: treat as no\\.', 5000);
        for (const large of of.large) assert.doesNotMatch(await page.$eval(large, (e) => e.innerText), /\d/, `${path} ${large}`);
        assert.match(await page.$eval(of.hatched[0], (e, pseudo) => getComputedStyle(e, pseudo).backgroundImage, of.hatched[1]), /repeating-linear-gradient/);
      }
      board = await serve(suite, ...options, '--port', String(port));
      for (const { of, page, before } of open) {
        await page.waitForFunction(([at, was]) => document.querySelector(at).textContent === was, [of.act, before], { timeout: 20000 });
        assert.doesNotMatch(await page.textContent(of.note), /No answer/);
      }
      assert.deepEqual(faults, []);
    } finally {
      await context.close();
      await board.stop();
    }
  });
