// usage: node build.mjs OUTDIR     the pages of src/pages.ts, each with the same head, and their scripts and styles: app.*
//                                 for the Air page, far.* for those read from afar; follow.js for the stream that all
//                                 share; pages.html, the links alone; offline.* for exports.
// No framework: what the board needs must fit in a look.
import { build, transform } from 'esbuild';
import { copyFile, mkdir, readFile, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2] ?? join(here, 'dist');

await mkdir(out, { recursive: true });
const { fileOf, headHtml, linksHtml, pages, scripts, styles } = await listOfPages();
const entries = (names, ends, app) => Object.fromEntries(names.map((n) => [n, join(here, `src/${n === 'app' ? app : n}.${ends}`)]));

await build({
  entryPoints: entries(scripts, 'ts', 'main'), inject: [join(here, 'src/head.ts')],
  outdir: out, bundle: true, minify: true, target: ['es2020'], format: 'esm',
  charset: 'utf8', legalComments: 'none', logLevel: 'warning',
});
await build({
  entryPoints: entries(styles, 'css', 'style'),
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
for (const page of pages.filter((p) => !p.written)) await writeFile(join(out, fileOf(page)), await withHead(page));
await writeFile(join(out, 'pages.html'), linksHtml());
await copyFile(join(here, 'src/mark.svg'), join(out, 'mark.svg'));

async function listOfPages() {
  const { code } = await transform(await readFile(join(here, 'src/pages.ts'), 'utf8'), { loader: 'ts', format: 'esm' });
  return import(`data:text/javascript;base64,${Buffer.from(code).toString('base64')}`);
}

/** A document with what every head begins with; what stands in its own head comes after that. */
async function withHead(page) {
  const parts = (await readFile(join(here, 'src', fileOf(page)), 'utf8')).split('<header class="head">');
  if (parts.length !== 2 || /<h1|<nav class="pages"/.test(parts[1]))
    throw new Error(`${fileOf(page)}: it needs one <header class="head"></header>, with no h1 and no links to pages: they come from src/pages.ts`);
  return parts.join(`<header class="head">${headHtml(page)}`);
}
