// docs/openapi.json against a validator of OpenAPI, and what the server really sends against it.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, renameSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { Validator } from '@seriousme/openapi-schema-validator';
import Ajv2020 from 'ajv/dist/2020.js';
import { inward, paperOnly, quillmere, root, serve, suite } from './board.js';

const document = JSON.parse(readFileSync(join(root, 'docs', 'openapi.json'), 'utf8'));
// OpenAPI 3.1 schemas are JSON Schema 2020-12; its own words outside them are no schema words.
const ajv = new Ajv2020({ strict: false, allErrors: true, validateFormats: false });
ajv.addSchema(document, 'api');
const typeOf = (path, status, method) => {
  const response = status === 200 ? document.paths[path][method].responses['200'] : document.components.responses.refused;
  return response.content['application/json'].schema.$ref ?? null;
};
const faults = (path, status, body, method = 'get') => {
  const ref = typeOf(path, status, method);
  return ref ? faultsOf(ref, body) : typeof body === 'object' ? [] : ['not an object'];
};
const faultsOf = (ref, body) => {
  const check = ajv.getSchema(`api${ref}`) ?? ajv.compile({ $ref: `api${ref}` });
  return check(body) ? [] : check.errors.map((e) => `${e.instancePath} ${e.message} ${JSON.stringify(e.params)}`);
};

const servers = {}, folder = mkdtempSync(join(tmpdir(), 'inward-api-'));
before(async () => {
  servers.live = await serve(quillmere, '--record', join(folder, 'q.record'), '--replay', join(root, 'examples/quillmere/day.csv'),
    '--source', 'trend', '--speed', '3000');
  servers.test = await serve(suite, '--scene', 'busy');
  servers.quillmere = await serve(quillmere);
  servers.paper = await serve(paperOnly);
});
after(async () => { for (const s of Object.values(servers)) await s.stop(); rmSync(folder, { recursive: true, force: true }); });
const get = async (server, path, query = '') => {
  const response = await fetch(`${servers[server].url.replace(/\/$/, '')}${path}${query ? `?${query}` : ''}`);
  return { status: response.status, body: await response.json() };
};

test('the API file is valid OpenAPI 3.1', async () => {
  const result = await new Validator().validate(structuredClone(document));
  assert.deepEqual(result.errors ?? [], []);
  assert.ok(result.valid);
});

test('a validator of OpenAPI refuses a broken one, so it can fail', async () => {
  const broken = structuredClone(document);
  delete broken.info.title;
  broken.paths['/api/air'].get.responses = { 200: {} };
  assert.equal((await new Validator().validate(broken)).valid, false);
});

test('the board serves the committed API file and the committed schema', async () => {
  assert.deepEqual((await get('test', '/api/openapi.json')).body, document);
  assert.deepEqual((await get('test', '/api/suite.schema.json')).body, JSON.parse(readFileSync(join(root, 'docs', 'suite.schema.json'), 'utf8')));
});

test('where nothing is connected every live address says so, in its own form', async () => {
  const at = (path) => `${servers.test.url.replace(/\/$/, '')}${path}`, why = /Nothing is connected[\s\S]*files: \{feeds: feeds.yaml\}[\s\S]*--record FILE/;
  for (const path of ['/past', '/night', '/alarms', '/sheet?incident=1']) {
    const page = await fetch(at(path));
    assert.equal(page.status, 404, path);
    assert.match(page.headers.get('content-type'), /^text\/html/);
    assert.match(await page.text(), why);
  }
  for (const path of ['/api/live', '/api/entries', '/api/stream', '/api/tell', '/api/baths', '/api/rounds', '/api/sightings', '/api/waste', '/api/waste-may', '/api/drain-may']) {
    const { status, body } = await get('test', path);
    assert.equal(status, 404, path);
    assert.match(body.error, why);
  }
  for (const path of ['/api/incident', '/api/entry', '/api/hand', '/api/errand', '/api/finding', '/api/stopped', '/api/printed', '/api/told', '/api/round', '/api/sighting', '/api/run', '/api/webhook/x']) {
    const reply = await fetch(at(path), { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{"incident": "odour"}' });
    assert.equal(reply.status, 409, path);
    assert.match((await reply.json()).error, why);
  }
});

const questions = [
  ['test', '/healthz', ''], ['test', '/api/plan', ''], ['quillmere', '/api/plan', ''], ['paper', '/api/plan', ''],
  ...['', 'quiet', 'busy', 'all-open'].map((s) => ['test', '/api/air', `scene=${s}`]),
  ['test', '/api/air', 'scene=busy&off=MU'], ['test', '/api/air', 'scene=busy&off=AF&off=SF&off=MU'],
  ['test', '/api/air', 'scene=busy&cover=B1=40%25&unattended=A1&blocked=A2&was=near-limit'],
  ['test', '/api/air', 'all=work&door=D1=open&off=AF/2'],
  ['test', '/api/why', 'station=A1&scene=busy'], ['test', '/api/why', 'station=C1'],
  ...['', 'busy', 'night'].map((s) => ['quillmere', '/api/air', `scene=${s}`]),
  ['quillmere', '/api/air', 'all=work'], ['quillmere', '/api/why', 'station=S3'],
  ['quillmere', '/api/etch', 'film=oxide-thermal&in=boe-5&depth=500nm&over=20%25&under=poly&others=cu,tin&wafers=25&wafer=150mm&volume=10L&fall=10%25&batches=9'],
  ['quillmere', '/api/etch', 'film=w&in=piranha&depth=1um'], ['test', '/api/etch', 'film=si-100&in=koh@30wt%25&at=80degC&depth=80um&opening=100um&mask=oxide-thermal'],
  ['test', '/api/etch', 'film=si-311&in=edp-s&depth=1um'], ['quillmere', '/api/vapour', 'of=acetone&from=beaker&diameter=100mm&station=S3&scene=busy'],
  ['quillmere', '/api/vapour', 'of=acetone:0.7&of=isopropanol:0.3&by=volume&from=floor-spill&volume=1L&room=Litho'],
  ['quillmere', '/api/vapour', 'of=piranha&from=bath&station=A1'],
  ['quillmere', '/api/after', 'event=10s%20door%20D2%20open&event=20s%20door%20D2%20closed&for=40s'], ['quillmere', '/api/after', 'event=0s%20gas%20Litho&event=1s%20off%20AF&scene=busy'],
  ['paper', '/api/per-cm', 'all=work'], ['paper', '/api/sample', 'draws=20'], ['paper', '/api/together', ''], ['paper', '/api/together', 'off=MAU-1'], ['test', '/api/together', 'lost=no&stations=A1,A2'],
  ['quillmere', '/api/may', 'who=U14&do=P7&at=A3&from=2026-12-01T18:30&inside=U22&beside=none'], ['quillmere', '/api/may', 'who=U999&do=P3&at=A3&unattended=yes'],
  ['live', '/api/may', 'who=U14&do=P21&at=S1'], ['quillmere', '/api/processes', ''],
  ['paper', '/api/air', ''], ['paper', '/api/air', 'all=work'], ['paper', '/api/why', 'station=H1'],
];
for (const [server, path, query] of questions)
  test(`the answer has the shape the API file says: ${server} ${path}?${query}`, async () => {
    const { status, body } = await get(server, path, query);
    assert.equal(status, 200, JSON.stringify(body));
    assert.deepEqual(faults(path, status, body), []);
  });

test('rounds and runs have the shape the API file says, with what people told in them', async () => {
  const tell = async (path, schema, body) => {
    const reply = await fetch(`${servers.live.url.replace(/\/$/, '')}${path}`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    const said = await reply.json();
    assert.deepEqual(faults(path, reply.status, said, 'post'), []);
    assert.equal(reply.status, 200, JSON.stringify(said));
    assert.deepEqual(faultsOf(`#/components/schemas/${schema}`, body), []);
  };
  await tell('/api/round', 'round_body', { who: 'E. Test', about: 'A3', all: 'yes', no: 'deck', expires: 'gel 2099-01-01', words: 'beaker' });
  await tell('/api/run', 'run_body', { who: 'E. Test', act: 'started', about: 'A4', what: 'strip', holds: 'acid', hazards: 'hot', call: '4217', until: '2099-01-01 10:00' });
  await tell('/api/round', 'round_body', { who: 'E. Test', about: 'S1', all: 'yes', no: 'glass', mark: 'violet square F', piece: 'beaker 1 L', count: '2' });
  await tell('/api/sighting', 'sighting_body', { who: 'E. Test', act: 'seen', about: 'A3', mark: 'violet square F', piece: 'beaker 1 L' });
  await tell('/api/sighting', 'sighting_body', { who: 'E. Test', act: 'counted', about: 'A3', piece: 'beaker 1 L', count: '4' });
  for (const path of ['/api/rounds', '/api/sightings']) {
    const { status, body } = await get('live', path);
    assert.equal(status, 200);
    assert.deepEqual(faults(path, status, body), []);
  }
});

test('own matches have the shape the API file says; where there is none it says why', async () => {
  const record = join(folder, 'nights.record'), run = (...args) => assert.ok(spawnSync(inward, args).status < 2, args.join(' '));
  run('take', quillmere, join(root, 'examples/quillmere/day.csv'), '--source', 'trend', '--record', record);
  for (const at of ['2026-10-25T03:00', '2026-10-25T13:00']) run('match', quillmere, '--record', record, '--at', at, '--keep');
  servers.nights = await serve(quillmere, '--record', record);
  const { status, body } = await get('nights', '/api/match');
  assert.equal(status, 200);
  assert.deepEqual(faults('/api/match', status, body), []);
  assert.equal(body.latest.verdict, 'matches');
  assert.equal(body.earlier.length, 1);
  assert.ok(body.figures.length > 10 && body.figures[0].nights.length === 2);
  const said = JSON.parse(spawnSync(inward, ['past', quillmere, '--record', record, '--matches', '--json']).stdout);
  for (const one of [said, body]) one.now = one.age_s = null;
  assert.deepEqual(body, said);
  for (const [server, why] of [['test', /nothing is connected/], ['live', /a replay matches nothing/]]) {
    const none = await get(server, '/api/match');
    assert.deepEqual(faults('/api/match', none.status, none.body), []);
    assert.equal(none.body.latest, null);
    assert.match(none.body.reason, why);
  }
  assert.equal((await get('nights', '/api/match', 'at=now')).status, 400);
});

test('baths and waste have the shape the API file says, with what people told in them', async () => {
  const tell = async (body) => {
    const reply = await fetch(`${servers.live.url.replace(/\/$/, '')}/api/told`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify({ who: 'E. Test', ...body }) });
    const said = await reply.json();
    assert.deepEqual(faults('/api/told', reply.status, said, 'post'), []);
    assert.equal(reply.status, 200, JSON.stringify(said));
    assert.deepEqual(faultsOf('#/components/schemas/told_body', { who: 'E. Test', ...body }), []);
  };
  await tell({ act: 'made', tank: 'T-1' });
  await tell({ act: 'topped', tank: 'T-1', what: 'h2o2-30', amount: 'about 0.5 L', tap: 'a' });
  await tell({ act: 'found', tank: 'T-3' });
  await tell({ act: 'opened', container: 'W-1', stream: 'acid-metal' });
  await tell({ act: 'added', container: 'W-1', what: 'al-etch', amount: '1 L' });
  await tell({ act: 'closed', container: 'W-1' });
  await tell({ act: 'found', container: 'W-2', stream: 'solvent' });
  for (const [path, query] of [['/api/baths', ''], ['/api/waste', ''], ['/api/waste-may', 'container=W-1&what=acetone'], ['/api/drain-may', 'tank=T-1'], ['/api/drain-may', 'tank=T-9&drain=DR-1'], ['/api/stock', ''], ['/api/entries', 'kind=bath']]) {
    const { status, body } = await get('live', path, query);
    assert.equal(status, 200, JSON.stringify(body));
    assert.deepEqual(faults(path, status, body), []);
  }
  for (const [path, query] of [['/api/baths', 'x=1'], ['/api/baths', 'at=tomorrow'], ['/api/waste-may', ''], ['/api/drain-may', ''], ['/api/drain-may', 'tank=T-1&what=x'], ['/api/stock', 'at=now']]) {
    const { status, body } = await get('live', path, query);
    assert.equal(status, 400, JSON.stringify(body));
    assert.deepEqual(faults(path, status, body), []);
  }
  assert.equal((await get('quillmere', '/api/baths')).status, 409);
  assert.equal((await get('paper', '/api/stock')).status, 200);
});

// What chemistry and `together` answer: the bytes of the verb, in the shape the API file says.
for (const [path, query, args] of [
  ['/api/meet', 'thing=piranha&thing=acetone&place=deck', ['meet', suite, 'piranha', 'acetone', '--place', 'deck']],
  ['/api/meet', 'thing=hf%4049wt%25&vessel=glass&at=60degC', ['meet', suite, 'hf@49wt%', '--vessel', 'glass', '--at', '60degC']],
  ['/api/meet', 'thing=piranha&thing=acetone&station=A1', ['meet', suite, 'piranha', 'acetone', '--station', 'A1']],
  ['/api/meet', 'thing=hno3&held=ipa&place=waste', ['meet', suite, 'hno3', '--held', 'ipa', '--place', 'waste']],
  ['/api/meet', 'thing=class:8&thing=class:3&thing=hcl&place=shipment', ['meet', suite, 'class:8', 'class:3', 'hcl', '--place', 'shipment']],
  ['/api/meet', 'thing=acetone&thing=chloroform&thing=koh&thing=unlabelled', ['meet', suite, 'acetone', 'chloroform', 'koh', 'unlabelled']],
  ['/api/per-cm', 'scene=busy', ['air', suite, '--scene', 'busy', '--per-cm']],
  ['/api/sample', 'scene=busy&draws=50&seed=3', ['air', suite, '--scene', 'busy', '--sample', '50', '--seed', '3']],
  ['/api/together', 'scene=busy&lost=no', ['together', suite, '--scene', 'busy', '--lost', 'no']],
  ['/api/together', 'scene=busy&off=AF/2&stations=A1,A2', ['together', suite, '--scene', 'busy', '--off', 'AF/2', '--stations', 'A1,A2']],
  ['/api/bath', 'name=sc-1&volume=7L&on=2026-11-29', ['bath', suite, 'sc-1', '--volume', '7L', '--on', '2026-11-29']],
  ['/api/bath', 'of=hf&to=5wt%25&from=hf-49&volume=2L&on=2026-11-29', ['bath', suite, '--of', 'hf', '--to', '5wt%', '--from', 'hf-49', '--volume', '2L', '--on', '2026-11-29']],
  ['/api/bath', 'name=aqua-regia&volume=1L&on=2026-11-29', ['bath', suite, 'aqua-regia', '--volume', '1L', '--on', '2026-11-29']],
  ['/api/bath', 'name=cr-etch&volume=1L&on=2026-11-29', ['bath', suite, 'cr-etch', '--volume', '1L', '--on', '2026-11-29']],
])
  test(`the board answers as the verb does: ${path}?${query}`, async () => {
    const text = await (await fetch(`${servers.test.url.replace(/\/$/, '')}${path}?${query}`)).text();
    const verb = spawnSync(inward, [...args, '--json'], { encoding: 'utf8' });
    assert.equal(text, verb.stdout);
    assert.deepEqual(faults(path, 200, JSON.parse(text)), []);
  });

for (const [query, args] of [
  ['who=U14&do=P7&at=A3&from=2026-12-01T18:30&inside=U22&beside=none&scene=busy', ['--who', 'U14', '--do', 'P7', '--at', 'A3', '--from', '2026-12-01T18:30', '--inside', 'U22', '--beside', 'none', '--scene', 'busy']],
  ['who=u2&do=P3&at=A4&from=2026-12-01T22:30&alone=yes&unattended=yes&confirm=station%20in%20use&for=2h', ['--who', 'u2', '--do', 'P3', '--at', 'A4', '--from', '2026-12-01T22:30', '--alone', '--unattended', '--confirm', 'station in use', '--for', '2h']],
])
  test(`the board says what inward may says: ${query}`, async () => {
    const text = await (await fetch(`${servers.quillmere.url.replace(/\/$/, '')}/api/may?${query}`)).text();
    assert.equal(text, spawnSync(inward, ['may', quillmere, ...args, '--json'], { encoding: 'utf8' }).stdout);
    assert.deepEqual(faults('/api/may', 200, JSON.parse(text)), []);
  });

test('a live board answers for the air of now, and never gives a name', async () => {
  const { body } = await get('live', '/api/may', 'who=U14&do=P21&at=S1');
  assert.match(body.scene, /^(live at|replayed)/);
  assert.equal(body.name, null);
  assert.equal((await get('live', '/api/may', 'who=U14&do=P21&at=S1&names=yes')).status, 400);
  assert.equal((await get('live', '/api/may', 'who=U14&do=P21&at=S1&from=2026-12-01T10:00')).body.scene, null);
});

test('a live board whose record is gone says that what people told is not known', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'inward-')), file = join(dir, 'kept.record');
  const board = await serve(quillmere, '--record', file);
  const ask = async () => (await fetch(`${board.url}api/may?who=U14&do=P1&at=A2&beside=none`)).text();
  try {
    assert.doesNotMatch(await ask(), /record cannot be read/i);
    renameSync(file, `${file}.away`);
    const said = JSON.parse(await ask());
    assert.equal(said.verdict, 'unconfirmed');
    assert.ok(said.reasons.some((r) => r.verdict === 'unconfirmed' && /^The record cannot be read/.test(r.say)));
  } finally {
    await board.stop();
    rmSync(dir, { recursive: true });
  }
});

for (const [path, query, want] of [
  ['/api/may', 'who=U14&do=P7&at=A3', 400], ['/api/processes', '', 400],
  ['/api/bath', '', 400], ['/api/bath', 'name=50:1&volume=1L', 400], ['/api/bath', 'of=hf&to=5%25&volume=1L', 400], ['/api/bath', 'x=1', 400],
  ['/api/meet', '', 400], ['/api/meet', 'thing=acetone', 400], ['/api/meet', 'thing=acetoen&thing=ipa', 400], ['/api/meet', 'thing=a&x=1', 400],
  ['/api/air', 'scene=none', 400], ['/api/air', 'station=A1', 400], ['/api/air', 'sash=A1', 400], ['/api/air', 'x=%zz', 400],
  ['/api/after', '', 400], ['/api/after', 'event=10s%20sash', 400], ['/api/after', 'event=1s%20all%20work&for=2d', 400], ['/api/after', 'lost=no', 400],
  ['/api/sample', 'draws=0', 400], ['/api/sample', 'draws=20001', 400], ['/api/sample', 'seed=x', 400],
  ['/api/together', 'lost=maybe', 400], ['/api/together', 'stations=Z9', 400], ['/api/together', 'station=A1', 400],
  ['/api/why', '', 400], ['/api/why', 'station=Z', 400], ['/api/plan', 'scene=busy', 400], ['/healthz', 'x', 400],
  ['/api/etch', 'film=oxide-thermal&in=5:1%20HF&depth=1um', 400], ['/api/etch', 'film=oxide-thermal&in=bhf-5&depth=1', 400],
  ['/api/vapour', 'of=acetone&from=beaker&diameter=100mm', 400], ['/api/vapour', 'of=acetone&wind=1', 400], ['/api/day', '', 400], ['/api/day', 'x=1', 400], ['/nowhere', '', 404],
])
  test(`a refusal has the shape the API file says: ${path}?${query}`, async () => {
    const { status, body } = await get('test', path, query);
    assert.equal(status, want);
    assert.deepEqual(faults(path, status, body), []);
  });

test('the board says of a day what the verb prints, byte for byte, and nobody by name', async () => {
  for (const query of ['date=2026-12-01', 'date=2026-12-05', 'date=2026-12-01&move=Q10=16:00']) {
    const options = query.split('&').flatMap((pair) => [`--${pair.slice(0, pair.indexOf('='))}`, pair.slice(pair.indexOf('=') + 1)]);
    const { stdout } = spawnSync(inward, ['day', quillmere, ...options, '--json'], { encoding: 'utf8' });
    const text = await (await fetch(`${servers.quillmere.url}api/day?${query}`)).text();
    assert.equal(text, stdout);
    assert.ok(!/U14|U26/.test(text));
    assert.deepEqual(faults('/api/day', 200, JSON.parse(text)), []);
  }
});

test('the board says of chemistry what the verb prints, byte for byte', async () => {
  for (const [verb, query] of [['vapour', 'of=hf-40&from=bath&area=0.06m2&station=A3&scene=busy&sash=A3=0.30m'],
    ['vapour', 'of=hcl-37&of=h2o2-30&from=bath&station=A2&scene=busy'], ['etch', 'film=oxide-thermal&in=boe-5&depth=500nm&spread-film=0.05ratio&others=poly'],
    ['etch', 'film=si-100&in=koh&strength=0.3ratio(wt)&at=80degC&depth=80um&opening=100um']]) {
    const options = query.split('&').flatMap((pair) => [`--${pair.slice(0, pair.indexOf('='))}`, pair.slice(pair.indexOf('=') + 1)]);
    const { stdout } = spawnSync(inward, [verb, quillmere, ...options, '--json'], { encoding: 'utf8' });
    const response = await fetch(`${servers.quillmere.url}api/${verb}?${query}`);
    assert.ok(stdout.length > 100);
    assert.equal(await response.text(), stdout);
  }
});

const post = async (path, body) => {
  const response = await fetch(`${servers.live.url.replace(/\/$/, '')}${path}`,
    { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  return { status: response.status, body: await response.json() };
};
const soon = async (ask, good, ms = 30000) => {
  for (const end = Date.now() + ms; ;) {
    const got = await ask();
    if (good(got) || Date.now() > end) return got;
    await new Promise((done) => setTimeout(done, 200));
  }
};

test('what is live has the shape the API file says, known and not known', async () => {
  const first = await soon(() => get('live', '/api/live'), (r) => r.status === 200 && r.body.air);
  assert.equal(first.status, 200, JSON.stringify(first.body));
  assert.deepEqual(faults('/api/live', 200, first.body), []);
  const blind = await serve(quillmere); // its table does not come by itself
  const { body } = await soon(async () => { const r = await fetch(`${blind.url}api/live`); return { status: r.status, body: await r.json() }; }, (r) => r.status === 200);
  await blind.stop();
  assert.equal(body.state, 'not_known');
  assert.deepEqual(faults('/api/live', 200, body), []);
});

test('the record answers, and takes, as the API file says', async () => {
  const entry = { kind: 'note', about: 'A1', who: 'test', text: 'a note' };
  assert.deepEqual(faultsOf(document.paths['/api/entry'].post.requestBody.content['application/json'].schema.$ref, entry), []);
  const entered = await post('/api/entry', entry);
  assert.equal(entered.status, 200, JSON.stringify(entered.body));
  assert.deepEqual(faults('/api/entry', 200, entered.body, 'post'), []);
  for (const [path, query] of [['/api/entries', 'from=2026-10-24T10:00&about=A1&kind=note&most=5'], ['/api/entries', 'from=2026-10-24T10:00'],
    ['/api/plot', 'point=A1-flow&from=2026-10-24T10:00&to=2026-10-24T14:00&most=50'], ['/api/plot', 'point=D1-open&from=2026-10-24T10:00&to=2026-10-24T14:00']]) {
    const { status, body } = await get('live', path, query);
    assert.equal(status, 200, JSON.stringify(body));
    assert.deepEqual(faults(path, 200, body), []);
  }
});

test('a moment of the past is explained in the shape the API file says', async () => {
  const { body: live } = await get('live', '/api/live');
  const { status, body } = await soon(() => get('live', '/api/past', `at=${encodeURIComponent(live.now)}`), (r) => r.status === 200, 120000);
  assert.equal(status, 200, JSON.stringify(body));
  assert.deepEqual(faults('/api/past', 200, body), []);
});

test('a night is told in the shape the API file says', async () => {
  const { status, body } = await soon(() => get('live', '/api/past', 'night=2026-10-24'), (r) => r.status === 200, 120000);
  assert.equal(status, 200, JSON.stringify(body));
  assert.equal(body.schema, 'inward.night.1');
  assert.deepEqual(faults('/api/past', 200, body), []);
});

test('every address of the API file is there, and takes its method only', async () => {
  for (const [path, item] of Object.entries(document.paths)) {
    const [method] = Object.keys(item), stop = new AbortController();
    const url = `${servers.live.url.replace(/\/$/, '')}${path.replace('{source}', 'none')}`;
    const right = await fetch(url, { method: method.toUpperCase(), signal: stop.signal, ...(method === 'post' ? { body: '{}', headers: { 'Content-Type': 'application/json' } } : {}) });
    assert.ok(path.includes('{') ? right.status === 404 : ![404, 405].includes(right.status), `${method} ${path}: ${right.status}`);
    stop.abort();
    assert.equal((await fetch(url, { method: method === 'get' ? 'DELETE' : 'GET' })).status, 405, path);
  }
});

test('a shape that is wrong is refused, so the checks above can fail', async () => {
  const { body } = await get('test', '/api/air', 'scene=busy');
  for (const spoil of [(b) => { b.extra = 1; }, (b) => { delete b.pools[0].state; }, (b) => { b.state = 'fine'; }, (b) => { b.stations[0].flow_m3_s = '3'; }]) {
    const wrong = structuredClone(body);
    spoil(wrong);
    assert.notDeepEqual(faults('/api/air', 200, wrong), []);
  }
});

test('every parameter the API file lists is understood, with its own example', async () => {
  const why = {};
  for (const { name, example } of Object.values(document.components.parameters).filter((p) => p.schema.type === 'array')) {
    const { body } = await get('test', name === 'event' ? '/api/after' : '/api/air', `${name}=${encodeURIComponent(example[0])}`);
    if (body.error) why[name] = body.error;
  }
  // The examples name parts of another suite: what is refused is the part, never the parameter.
  for (const [name, error] of Object.entries(why)) assert.doesNotMatch(error, /no parameter|unknown change|wants/, name);
});
