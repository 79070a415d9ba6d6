// What an exported page carries: the engine and one suite, each told from a damaged copy by its
// checksum.  Loaded before the page itself, so that every question goes to the engine.
import { answerFrom, type Answerer } from './asker';
import { engineAnswerer } from './engine';

const damaged = 'What is inside this file is damaged; ask for the file again.';
const tooOld = 'This browser does not run WebAssembly, and the engine in this file is one; use a browser of 2022 or later.';

// CRC-32 as zlib's.
export function crc32(bytes: Uint8Array): string {
  let crc = -1;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0);
  }
  return (~crc >>> 0).toString(16).padStart(8, '0');
}

function part(id: string, decode: (text: string) => Uint8Array<ArrayBuffer>): { bytes: Uint8Array<ArrayBuffer>; data: DOMStringMap } {
  const at = document.getElementById(id);
  let bytes: Uint8Array<ArrayBuffer> | null = null;
  try { bytes = at && decode(at.textContent ?? ''); } catch { /* not even base64 */ }
  if (!bytes || crc32(bytes) !== at!.dataset.crc32) throw new Error(damaged);
  return { bytes, data: at!.dataset };
}

async function unpack(): Promise<Answerer> {
  if (typeof WebAssembly !== 'object') throw new Error(tooOld);
  const suite = part('carried-suite', (text) => new TextEncoder().encode(text));
  const engine = part('carried-engine', (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)));
  return engineAnswerer(await WebAssembly.compile(engine.bytes), suite.bytes, suite.data.scene ?? '');
}

function say(why: string): void {
  const note = document.getElementById('act-note');
  if (note) note.textContent = why;
}

const ready = unpack();
ready.catch((error: unknown) => say(error instanceof Error ? error.message : String(error)));

answerFrom(async (path, search) => {
  const answerer = await ready;
  await new Promise((drawn) => setTimeout(drawn)); // what was just moved is shown first
  const reply = await answerer(path, search);
  if (path === '/api/plan' && !reply.ok) say(String((reply.body as { error?: unknown }).error));
  return reply;
});
