// What the tests share: a real server on a free port, a browser, and a page with the answers watched.
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { transform } from 'esbuild';
import { chromium } from 'playwright-core';

const axeSource = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
export const here = dirname(fileURLToPath(import.meta.url));
export const root = join(here, '..', '..');
export const inward = process.env.INWARD ?? join(root, 'build', 'inward');
export const suite = join(here, 'fixtures', 'suite.yaml');
export const quillmere = join(root, 'examples', 'quillmere', 'suite.yaml');
export const paperOnly = join(root, 'examples', 'paper-only', 'suite.yaml');

// src/pages.ts, as the build has it.
export async function listOfPages() {
  const { code } = await transform(readFileSync(join(here, '..', 'src', 'pages.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
  return import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);
}

export async function serve(file = suite, ...more) {
  if (!existsSync(inward)) throw new Error(`${inward} is not built; set INWARD or run make build`);
  const child = spawn(inward, ['serve', file, '--port', '0', ...more], { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '', wrong = '';
  child.stderr.on('data', (d) => { wrong += d; });
  const url = await new Promise((found, failed) => {
    child.on('exit', (code) => failed(new Error(`inward serve ended with ${code}: ${wrong}`)));
    child.stdout.on('data', (d) => {
      said += d;
      const at = /http:\/\/\S+?:(\d+)\//.exec(said);
      if (at) found(at[0]);
    });
  });
  const stop = (signal = 'SIGTERM') => new Promise((done) => {
    if (child.exitCode !== null || child.signalCode !== null) return done(child.exitCode);
    child.removeAllListeners('exit');
    child.on('exit', (code) => done(code));
    child.kill(signal);
  });
  return { url, port: Number(new URL(url).port), stop };
}

// The shell draws the same pages without a browser's own windows around them: half the work.
const chromiums = ['/usr/bin/chromium-headless-shell', '/usr/bin/chromium'];
export const browse = () => chromium.launch({
  executablePath: process.env.CHROMIUM ?? chromiums.find(existsSync),
  args: ['--headless', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
    '--disable-component-update', '--disable-sync', '--force-color-profile=srgb',
    ...(process.getuid?.() === 0 ? ['--no-sandbox'] : [])],
});

const opened = async (browser, url, options) => {
  const context = await browser.newContext({ viewport: { width: 1920, height: 1080 }, ...options });
  const page = await context.newPage();
  page.faults = []; // errors of its own fail the test that reads them
  page.on('pageerror', (e) => page.faults.push(e.message));
  page.on('console', (m) => { if (m.type() === 'error' && !/net::ERR|Failed to load/.test(m.text())) page.faults.push(m.text()); });
  await page.goto(url);
  return page;
};

// The Air page with its first answer shown.
export async function open(browser, url, options = {}) {
  const page = await opened(browser, url, options);
  await page.waitForSelector('.station');
  await settled(page);
  return page;
}

// No question on its way, none waiting, and the last answer drawn.
export const settled = (page) => page.waitForFunction(() => {
  const c = window.inward?.counts();
  return c && !c.busy && c.sent === c.answered && c.answered > 0;
});

export const act = (page) => page.textContent('#act');
export const state = (page) => page.textContent('#state');
export const line = (page, id, n) => page.textContent(`[data-part="l${n}:${id}"]`);

// A page that is read from afar, with its answer drawn and fitted to the window.
export async function openFar(browser, url, options = {}) {
  const page = await opened(browser, url, options);
  await settledFar(page);
  return page;
}
export const settledFar = (page) => page.waitForFunction(() => window.inward?.settled());

// The window has its size, and what it holds has followed: observers run between layout and paint.
export async function resized(page, viewport) {
  await page.setViewportSize(viewport);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
}

// Pages ask only their own server; looking at pixels needs a context without that policy.
export const looks = { bypassCSP: true };

export async function axe(page) {
  await page.evaluate(axeSource);
  const found = await page.evaluate(() => window.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa'] }));
  return { broken: found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target).join(' ')}`), passes: found.passes.length };
}
