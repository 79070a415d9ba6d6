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
await build({
  entryPoints: { app: join(here, 'src/main.ts'), far: join(here, 'src/far.ts'), record: join(here, 'src/record.ts'), lists: join(here, 'src/lists.ts'), tell: join(here, 'src/tell.ts'), bath: join(here, 'src/bath.ts'), baths: join(here, 'src/baths.ts'), day: join(here, 'src/day.ts'), may: join(here, 'src/may.ts'), round: join(here, 'src/round.ts'), run: join(here, 'src/run.ts') },
  outdir: out, bundle: true, minify: true, target: ['es2020'], format: 'esm',
  charset: 'utf8', legalComments: 'none', logLevel: 'warning',
});
await build({
  entryPoints: { app: join(here, 'src/style.css'), far: join(here, 'src/far.css'), record: join(here, 'src/record.css'), lists: join(here, 'src/lists.css'), bath: join(here, 'src/bath.css'), baths: join(here, 'src/baths.css'), day: join(here, 'src/day.css'), may: join(here, 'src/may.css'), round: join(here, 'src/round.css') },
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
const files = ['page.html', 'wall.html', 'station.html', 'stations.html', 'record.html', 'tell.html', 'bath.html', 'baths.html', 'day.html', 'may.html', 'round.html', 'run.html', 'mark.svg'];
for (const file of files) await copyFile(join(here, 'src', file), join(out, file));
