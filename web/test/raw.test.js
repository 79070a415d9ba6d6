// The server from outside, over plain sockets: what it refuses, what it says, how it ends.
// The rows are requests that HTTP servers are known to let through; RFC 9112 says what is right.
import assert from 'node:assert/strict';
import { execFileSync, spawnSync } from 'node:child_process';
import { connect } from 'node:net';
import { after, before, test } from 'node:test';
import { gunzipSync } from 'node:zlib';
import { inward, serve, suite } from './board.js';

let server;
before(async () => { server = await serve(suite, '--scene', 'busy', '--host', 'board.example'); });
after(async () => { await server?.stop(); });

// All bytes the server sends until it closes, or until it has been quiet for a moment after so many answers.
// Who was asked to close is waited for: a pause in the middle of an answer is not its end.
const raw = (bytes, least = 1) => new Promise((done, failed) => {
  let got = '', timer;
  const { port } = server, closes = /^Connection: close/im.test(bytes);
  const socket = connect(port, '127.0.0.1', () => socket.write(bytes));
  const end = () => { clearTimeout(timer); socket.destroy(); done(got); };
  const later = () => { clearTimeout(timer); timer = setTimeout(end, !closes && statuses(got).length >= least ? 400 : 5000); };
  socket.on('data', (d) => { got += d.toString('latin1'); later(); });
  socket.on('close', end);
  socket.on('error', (e) => (e.code === 'ECONNRESET' || e.code === 'EPIPE' ? end() : failed(e)));
  later();
});
const statuses = (text) => [...text.matchAll(/^HTTP\/1\.1 (\d+)/gm)].map((m) => Number(m[1]));
const head = (lines) => ['GET /healthz HTTP/1.1', ...lines, '', ''].join('\r\n');

const second = 'GET /healthz HTTP/1.1\r\nHost: localhost\r\n\r\n';
const rows = [
  ['a plain request', head(['Host: localhost']), [200]],
  ['a name that was allowed', head(['Host: board.example:80']), [200]],
  ['two hosts', head(['Host: localhost', 'Host: localhost']), [400]],
  ['a host that is not ours', head(['Host: elsewhere.example']), [400]],
  ['length and chunks together', `GET /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n${second}`, [400]],
  ['two lengths', `GET /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\nContent-Length: 44\r\n\r\n${second}`, [400]],
  ['a body', `GET /healthz HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\nhello`, [413]],
  ['a body in chunks', `POST /api/air HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n`, [413]],
  ['a method nobody has', 'BREW /api/air HTTP/1.1\r\nHost: localhost\r\n\r\n', [405]],
  ['a post', 'POST /api/air HTTP/1.1\r\nHost: localhost\r\nContent-Length: 0\r\n\r\n', [405]],
  ['an address nobody has', 'GET /../../etc/passwd HTTP/1.1\r\nHost: localhost\r\n\r\n', [404]],
  ['an escaped address', 'GET /%61ir HTTP/1.1\r\nHost: localhost\r\n\r\n', [404]],
  ['a bad percent sign', 'GET /api/air?sash=%zz HTTP/1.1\r\nHost: localhost\r\n\r\n', [400]],
  ['two requests on one connection', second + second, [200, 200]],
];
for (const [name, bytes, want] of rows)
  test(`raw: ${name} gives ${want.join(' and ')}`, async () => assert.deepEqual(statuses(await raw(bytes, want.length)), want));

// The HTTP library refuses these itself and, as of 0.9.75, writes the head of its refusal twice.
for (const [name, lines] of [['no host', ['X: y']], ['a length that is negative', ['Host: localhost', 'Content-Length: -1']],
  ['a space before the colon', ['Host : localhost']]])
  test(`raw: ${name} gives 400 and nothing else`, async () => assert.deepEqual(new Set(statuses(await raw(head(lines)))), new Set([400])));

test('raw: stacked codings, huge heads and endless lines are refused or closed, and never answered 200', async () => {
  for (const bytes of [
    head(['Host: localhost', 'Transfer-Encoding: gzip, chunked']),
    head(['Host: localhost', `X: ${'x'.repeat(100000)}`]),
    `GET /${'x'.repeat(100000)} HTTP/1.1\r\nHost: localhost\r\n\r\n`,
    'GET / HTTP/9.9\r\nHost: localhost\r\n\r\n', '\r\n\r\n\r\n\r\nnonsense\r\n\r\n', '\0\0\0\0\r\n\r\n',
  ]) assert.ok(!statuses(await raw(bytes)).includes(200), bytes.slice(0, 60));
  assert.equal((await fetch(`${server.url}healthz`)).status, 200);
});

test('a request in pieces, a byte at a time, is answered', async () => {
  const got = await new Promise((done) => {
    let text = '';
    const socket = connect(server.port, '127.0.0.1', async () => {
      for (const c of second) { socket.write(c); await new Promise((r) => setTimeout(r, 1)); }
    });
    socket.on('data', (d) => { text += d; socket.end(); });
    socket.on('close', () => done(text));
  });
  assert.deepEqual(statuses(got), [200]);
});

test('every refusal is JSON with its reason', async () => {
  for (const [path, status] of [['nowhere', 404], ['api/air?scene=none', 400], ['api/air?sash=S9=work', 400],
    ['api/air?sash=A1=900m', 400], ['api/air?fan=AF', 400], ['api/air?scene=busy&scene=quiet', 400], ['api/why', 400], ['api/why?station=Z', 400]]) {
    const answer = await fetch(server.url + path), body = await answer.json();
    assert.equal(answer.status, status, path);
    assert.ok(body.error.length > 10 && body.status === status, JSON.stringify(body));
    assert.match(answer.headers.get('content-type'), /^application\/json/);
  }
});

test('the board answers what the command line prints, byte for byte, whatever was asked before', async () => {
  const cases = [['busy'], ['quiet', 'sash', 'A2=0.41m'], ['all-open', 'sash', 'A1=parked', 'door', 'D1=open'],
    ['busy', 'off', 'AF/2', 'cover', 'B1=40%'], ['quiet', 'all', 'work', 'sash', 'S1=30cm', 'off', 'MU'], ['busy', 'off', 'SF']];
  for (const round of [0, 1])
    for (const [scene, ...words] of round ? [...cases].reverse() : cases) {
      const args = [], query = new URLSearchParams({ scene });
      for (let i = 0; i < words.length; i += 2) { args.push(`--${words[i]}`, words[i + 1]); query.append(words[i], words[i + 1]); }
      const said = spawnSync(inward, ['air', suite, '--json', '--scene', scene, ...args]).stdout;
      const sent = Buffer.from(await (await fetch(`${server.url}api/air?${query}`)).arrayBuffer());
      assert.ok(said.length > 1000 && said.equals(sent), `${scene} ${words.join(' ')}`);
    }
  const why = execFileSync(inward, ['air', suite, '--json', '--scene', 'busy', '--why', 'A1']);
  assert.ok(why.equals(Buffer.from(await (await fetch(`${server.url}api/why?scene=busy&station=A1`)).arrayBuffer())));
});

test('without a scene the board answers for the one it was started with, and an empty one is all parked', async () => {
  const text = async (query) => (await fetch(`${server.url}api/air${query}`)).text();
  assert.equal(await text(''), await text('?scene=busy'));
  assert.equal(await text('?scene='), spawnSync(inward, ['air', suite, '--json']).stdout.toString());
});

test('the page and its files: compressed when wanted, kept for ever under a name that is their hash', async () => {
  const get = (path, coding) => fetch(server.url + path, { headers: { 'accept-encoding': coding } });
  const page = await get('', 'identity');
  assert.equal(page.headers.get('content-encoding'), null);
  const policy = page.headers.get('content-security-policy');
  assert.match(policy, /default-src 'self'/);
  assert.doesNotMatch(policy, /unsafe/);
  assert.equal(page.headers.get('x-content-type-options'), 'nosniff');
  assert.equal(page.headers.get('referrer-policy'), 'no-referrer');
  const html = await page.text(), files = [...html.matchAll(/"\/(a\/[^"]+)"/g)].map((m) => m[1]);
  assert.equal(files.length, 4); // mark, style, script, and the script that all pages' stream runs in
  for (const file of files) {
    const plain = await get(file, 'identity');
    assert.match(plain.headers.get('cache-control'), /immutable/);
    const packed = await raw(`GET /${file} HTTP/1.1\r\nHost: localhost\r\nAccept-Encoding: gzip\r\nConnection: close\r\n\r\n`);
    assert.match(packed, /Content-Encoding: gzip/);
    const body = Buffer.from(packed.slice(packed.indexOf('\r\n\r\n') + 4), 'latin1');
    assert.equal(gunzipSync(body).toString(), await plain.text());
  }
  assert.equal(await (await get('air', 'identity')).text(), html);
  for (const [page, files] of [['wall', 4], ['stations', 3], ['station', 4], ['station/A1', 4], ['record', 4]]) {
    const other = await get(page, 'identity'), body = await other.text();
    assert.equal(other.status, 200, page);
    assert.match(other.headers.get('content-type'), /^text\/html/);
    assert.equal([...body.matchAll(/"\/(a\/[^"]+)"/g)].length, files, page);
  }
});

test('a station that is not there gives the page and 404; what is no id gives nothing', async () => {
  const get = (path) => fetch(server.url + path);
  const unknown = await get('station/Z9');
  assert.equal(unknown.status, 404);
  assert.match(unknown.headers.get('content-type'), /^text\/html/);
  for (const path of ['station/', 'station/9', 'station/A1/', 'station/A1/x', 'station/%41', `station/${'A'.repeat(33)}`, 'station/../air']) {
    const raw_ = statuses(await raw(`GET /${path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n`));
    assert.deepEqual(raw_, [404], path);
  }
});

test('many at once, and clients that leave in the middle, are served', async () => {
  for (let i = 0; i < 30; i++) connect(server.port, '127.0.0.1', function () { this.write(second.slice(0, 20)); this.destroy(); });
  const all = await Promise.all(Array.from({ length: 60 }, (_, i) => fetch(`${server.url}api/air?scene=quiet&sash=A2=${i % 40 + 10}cm`).then((r) => r.status)));
  assert.deepEqual(new Set(all), new Set([200]));
});

test('a port in use is said plainly, with what to do', () => {
  const second = spawnSync(inward, ['serve', suite, '--port', String(server.port)]);
  assert.equal(second.status, 3);
  assert.match(second.stderr.toString(), /port \d+ on 127\.0\.0\.1 is in use.*--port/s);
});

test('bad use ends with 2 and a reason', () => {
  for (const args of [['serve'], ['serve', suite, '--port', 'x'], ['serve', suite, '--port', '70000'], ['serve', suite, '--bind', 'nowhere'],
    ['serve', suite, '--scene', 'none'], ['serve', suite, '--what', '1'], ['serve', 'no-such-file.yaml']]) {
    const got = spawnSync(inward, args);
    assert.equal(got.status, 2, args.join(' ') + got.stderr);
    assert.ok(got.stderr.length > 10);
  }
});

for (const signal of ['SIGTERM', 'SIGINT'])
  test(`${signal} ends it with 0 while clients hang on`, async () => {
    const own = await serve();
    const idle = connect(own.port, '127.0.0.1');
    idle.on('error', () => {});
    await fetch(`${own.url}healthz`);
    assert.equal(await own.stop(signal), 0);
    idle.destroy();
  });
