// usage: node build.mjs OUTDIR     app.* for the Air page, far.* for the pages read from afar, record.* for the record,
//                                 follow.js for the stream that all pages share, their HTML;
//                                 offline.* for exports.  No framework: what the board needs must fit in a look.
import { build } from 'esbuild';
import { copyFile, mkdir } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, 'dist');

await mkdir(out, { recursive: true });
// Pages with a script and a style of their own; some borrow the style of another.
const pages = ['far', 'record', 'lists', 'bath', 'baths', 'day', 'may', 'round', 'together'], scripted = ['tell', 'run'];
const entries = (names, ends, app) => Object.fromEntries([['app', app], ...names.map((n) => [n, n])].map(([to, from]) => [to, join(here, `src/${from}.${ends}`)]));

await build({
  entryPoints: entries([...pages, ...scripted], 'ts', 'main'),
  outdir: out, bundle: true, minify: true, target: ['es2020'], format: 'esm',
  charset: 'utf8', legalComments: 'none', logLevel: 'warning',
});
await build({
  entryPoints: entries(pages, 'css', 'style'),
  outdir: out, bundle: true, minify: true, target: ['chrome100', 'firefox100', 'safari15'], logLevel: 'warning',
});
await build({ // a shared worker is a script of its own
  entryPoints: { follow: join(here, 'src/follow.ts') },
  outdir: out, bundle: true, minify: true, target: ['es2020'], format: 'iife',
  charset: 'utf8', legalComments: 'none', logLevel: 'warning',
});
await build({
  entryPoints: { offline: join(here, 'src/offline.ts') },
  outdir: out, bundle: true, minify: true, target: ['es2020'], format: 'iife',
  charset: 'utf8', legalComments: 'none', logLevel: 'warning',
});
await build({
  entryPoints: { offline: join(here, 'src/offline.css') },
  outdir: out, minify: true, target: ['chrome100', 'firefox100', 'safari15'], logLevel: 'warning',
});
const files = ['page.html', 'wall.html', 'station.html', 'stations.html', 'record.html', 'tell.html', 'bath.html', 'baths.html', 'day.html', 'may.html', 'round.html', 'run.html', 'together.html', 'mark.svg'];
for (const file of files) await copyFile(join(here, 'src', file), join(out, file));
