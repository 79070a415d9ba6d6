// What the tests of exported pages share: an export, and what it carries.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import { here, inward } from './board.js';

const folder = mkdtempSync(join(tmpdir(), 'inward-export-'));
let count = 0;

export function exported(suite, ...more) {
  const file = join(folder, `${++count}.html`);
  execFileSync(inward, ['export', suite, '-o', file, ...more]);
  return file;
}

// The engine and the suite out of a page, and the page's own code that puts questions to them.
export async function carried(file) {
  const html = readFileSync(file, 'utf8');
  const inside = (id) => new RegExp(`id="carried-${id}"[^>]*>(.*?)</script>`, 's').exec(html)[1];
  const scene = /data-scene="([^"]*)"/.exec(html)[1];
  const module = await WebAssembly.compile(Buffer.from(inside('engine'), 'base64'));
  const code = await build({ entryPoints: [join(here, '../src/engine.ts')], bundle: true, write: false, format: 'esm', target: 'es2020' });
  const { engineAnswerer } = await import(`data:text/javascript;base64,${Buffer.from(code.outputFiles[0].text).toString('base64')}`);
  return { ask: engineAnswerer(module, new TextEncoder().encode(inside('suite')), scene), module, engineAnswerer };
}
