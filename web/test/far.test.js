// The pages read from afar: the wall, the station, the list to both.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { browse, here, openFar, quillmere, serve, suite } from './board.js';

let server, plain, demo, listed, browser;
before(async () => {
  server = await serve(suite, '--scene', 'busy', '--with', join(here, 'fixtures', 'cards.yaml'));
  plain = await serve(suite, '--scene', 'busy');
  demo = await serve(quillmere, '--scene', 'busy');
  listed = await serve(join(here, 'fixtures', 'list.yaml'));
  browser = await browse();
});
after(async () => { await browser?.close(); for (const s of [server, plain, demo, listed]) await s?.stop(); });

const shown = async (path, run, options = {}, from = plain) => {
  const page = await openFar(browser, from.url.replace(/\/$/, '') + path, options);
  try {
    await run(page);
    assert.deepEqual(page.faults, []);
  } finally {
    await page.context().close();
  }
};
const answer = async (query, from = plain) => (await fetch(`${from.url}api/air?${query}`)).json();
const text = (page, id) => page.$eval(id, (e) => e.innerText.replace(/\s+/g, ' ').trim());
const phone = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true };
const tablet = { viewport: { width: 768, height: 1024 }, hasTouch: true };

// ---- the wall ----

test('the wall says the act, each pool, what to lower, that it is a scene, and whose alarm decides', () => shown('/wall', async (page) => {
  const air = await answer('scene=busy');
  assert.equal(await text(page, '#act'), air.act.replace(/ · /g, ' '));
  assert.equal(await text(page, '#state'), 'near limit');
  const pools = await page.$$eval('.pool', (all) => all.map((e) => e.innerText.replace(/\s+/g, ' ').trim()));
  assert.equal(pools.length, air.pools.length);
  air.pools.forEach((p, i) => {
    assert.ok(pools[i].includes(p.more_guaranteed === 0 ? 'no more' : `${p.more_guaranteed} more`), pools[i]);
    assert.ok(pools[i].includes(p.state.replace('_', ' ')), pools[i]);
  });
  assert.ok((await text(page, '#lower')).startsWith(`Lower first: ${air.lower_first.reaches_ample[0].station} down`));
  assert.match(await text(page, '#live'), /^SCENE busy, not live: nothing is connected$/);
  assert.equal(await text(page, '#shared'), "Shared air only. Your station's own alarm decides.");
  assert.equal(await page.textContent('h1'), 'May I open another sash?');
}));

test('a wall with changes in its address is a trial and says so', () => shown('/wall?scene=busy&sash=A2=parked', async (page) => {
  assert.match(await text(page, '#live'), /^TRIAL, not live/);
  assert.equal(await text(page, '#act'), (await answer('scene=busy&sash=A2=parked')).act.replace(/ · /g, ' '));
}));

test('while the air is short a pool beside it does not say that more may be opened', () => shown('/wall?scene=busy&off=AF/2', async (page) => {
  const air = await answer('scene=busy&off=AF/2', demo);
  assert.equal(air.state, 'short');
  const beside = air.pools.filter((p) => p.state === 'ample' || p.state === 'near_limit');
  assert.ok(beside.some((p) => p.more_guaranteed > 0), 'no pool with room beside a short one any more: find another scene');
  const pools = await page.$$eval('.pool', (all) => all.map((e) => e.innerText.replace(/\s+/g, ' ').trim()));
  air.pools.forEach((p, i) => {
    if (beside.includes(p)) assert.ok(pools[i].includes(`no more while the air is short ${p.state.replace('_', ' ')}`), pools[i]);
    assert.doesNotMatch(pools[i], /[1-9] more/);
  });
}, {}, demo));

// NUREG-0700: at least 16 minutes of arc, 20 for preference, by the height of a capital.
const measured = (page, selector, screen_in) => page.$$eval(selector, (all, inches) => {
  const pitch = (inches * 25.4) / Math.hypot(innerWidth, innerHeight), c = document.createElement('canvas').getContext('2d');
  return all.filter((e) => e.innerText.trim()).map((e) => {
    const style = getComputedStyle(e);
    c.font = `${style.fontWeight} 200px ${style.fontFamily}`;
    const capital_mm = (c.measureText('H').actualBoundingBoxAscent / 200) * parseFloat(style.fontSize) * pitch;
    return (2 * Math.atan(capital_mm / 2 / 5000) * 180 * 60) / Math.PI;
  });
}, screen_in);

for (const [name, viewport, from, path] of [
  ['full HD', { width: 1920, height: 1080 }, 'plain', '/wall?scene=busy'], ['4K', { width: 3840, height: 2160 }, 'plain', '/wall?scene=busy'],
  ['the demo suite on full HD', { width: 1920, height: 1080 }, 'demo', '/wall?scene=busy'],
  ['the demo suite, short, on 4K', { width: 3840, height: 2160 }, 'demo', '/wall?scene=busy&all=work'],
  ['a portrait screen', { width: 1080, height: 1920 }, 'demo', '/wall?scene=busy'],
])
  test(`on a 55 in wall every large word stands 16 minutes of arc or more at 5 m, and nothing scrolls or is cut: ${name}`, () => shown(path, async (page) => {
    for (const selector of ['#act', '#state', '.pool-name', '.pool-more', '.pool-state', '#lower', '#live', '#shared'])
      for (const arcmin of await measured(page, selector, 55)) assert.ok(arcmin >= 16, `${selector}: ${arcmin.toFixed(1)}`);
    assert.ok(Math.max(...await measured(page, '#act', 55)) >= 20);
    const sizes = await page.$$eval('#act, .pool-more, #lower, #live, #shared, #state', (all) => all.map((e) => parseFloat(getComputedStyle(e).fontSize)));
    assert.equal(Math.max(...sizes), sizes[0], 'the act is the largest');
    const page_ = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.scrollHeight]);
    assert.deepEqual(page_, [viewport.width, viewport.height]);
    const cut = await page.$$eval('#far, #act, .pool, .pool *, .line, .act', (all) => all.filter((e) => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 || e.scrollHeight > e.clientHeight + 2 && e.clientHeight > 0).map((e) => e.className || e.id));
    assert.deepEqual(cut.filter((c) => typeof c === 'string' && !/^mk/.test(c) && !/pool-/.test(c)), []);
    assert.match(await text(page, '#sight'), /minutes of arc at 5 m/);
  }, { viewport }, from === 'demo' ? demo : plain));

test('distance and screen are settings, and a screen that is too small says how near to stand', async () => {
  await shown('/wall?scene=busy&distance=3m&screen=32in', async (page) => {
    assert.match(await text(page, '#sight'), /on a 32 in screen: \d+ minutes of arc at 3 m/);
  });
  await shown('/wall?scene=busy&screen=20in&distance=8', async (page) => {
    assert.match(await text(page, '#sight'), /too small for 8 m; read from \d(\.\d)? m at most/);
  });
  await shown('/wall?scene=busy&screen=140cm&distance=16ft', async (page) => {
    assert.match(await text(page, '#sight'), /on a 55 in screen: \d+ minutes of arc at 4\.9 m/);
  });
});

test('a wall whose question is refused is not known, and so is a page without its script', async () => {
  await shown('/wall?scene=nowhere', async (page) => {
    assert.equal(await text(page, '#act'), 'NOT KNOWN: TREAT AS NO');
    assert.match(await text(page, '#age'), /nowhere/);
  });
  for (const path of ['/wall', '/station/A1']) {
    const context = await browser.newContext({ javaScriptEnabled: false }), page = await context.newPage();
    await page.goto(plain.url.replace(/\/$/, '') + path);
    assert.match(await page.textContent('main'), /NOT KNOWN: TREAT AS NO/);
    assert.match(await page.$eval('.act', (e) => getComputedStyle(e).backgroundImage), /repeating-linear-gradient/);
    await context.close();
  }
});

test('the wall wanders by the minute, so that nothing burns in, and stays whole', async () => {
  const context = await browser.newContext({ viewport: { width: 1920, height: 1080 } }), page = await context.newPage();
  await page.clock.install({ time: new Date('2026-11-25T08:00:00Z') });
  await page.goto(`${plain.url}wall`);
  await page.waitForSelector('.pool');
  const seen = new Set();
  for (let i = 0; i < 6; i++) {
    await page.clock.runFor(60000);
    const box = await page.$eval('#shared', (e) => { const b = e.getBoundingClientRect(); return [Math.round(b.x), Math.round(b.y), b.bottom <= innerHeight]; });
    assert.ok(box[2]);
    seen.add(box.slice(0, 2).join());
  }
  assert.ok(seen.size >= 4, [...seen].join(' '));
  await context.close();
});

// ---- the station ----

const line = (page) => text(page, '#line');
test('a parked station with air to spare: air for it, and no permission', () => shown('/station/A2?scene=quiet', async (page) => {
  const air = await answer('scene=quiet');
  assert.equal(air.stations.find((s) => s.id === 'A2').may_open.state_after, 'ample');
  assert.equal(await line(page), 'AIR FOR A2');
  assert.equal(await text(page, '#state'), 'ample');
  assert.match(await text(page, '#next'), /No higher than the mark, 45 cm\. Your procedure and your training decide the rest\./);
  assert.doesNotMatch(await text(page, 'body'), /\bsafe\b/i);
  assert.equal(await page.textContent('h1'), 'May I start here now?');
  assert.match(await text(page, '#live'), /SCENE quiet, not live/);
}, tablet));

test('a parked station that would make the air short: not now, why, and whom to ask first', async () => {
  // Over both suites and several scenes: at least one with help from others, one without.
  const seen = { helped: 0, alone: 0 };
  for (const [from, query] of [[demo, 'scene=busy'], [demo, 'scene=busy&off=AF/2'], [plain, 'scene=busy&off=AF/2'], [plain, 'scene=busy&sash=S1=work']]) {
    const air = await answer(query, from);
    for (const s of air.stations.filter((x) => x.may_open?.state_after === 'short').slice(0, 2)) {
      const help = (await answer(`${query}&sash=${s.id}=work&blocked=${s.id}`, from)).lower_first.ends_short;
      assert.ok(help.every((l) => l.station !== s.id));
      if (seen[help.length ? 'helped' : 'alone']++ > 1) continue;
      await shown(`/station/${s.id}?${query}`, async (page) => {
        assert.equal(await line(page), 'NOT NOW');
        const why = await text(page, '#why');
        assert.ok(why.startsWith(s.may_open.binding ? `Opening ${s.id} to work would miss: ` : 'Missed already: ') && why.length > 30, why);
        const next = await text(page, '#next');
        assert.ok(next.startsWith(`Leave ${s.id} parked.`));
        if (help.length) assert.match(next, new RegExp(`First ${help[0].station} .*ask the person there; never move another’s sash over work`));
        else assert.match(next, /No other sash is known to help/);
      }, tablet, from);
    }
  }
  assert.ok(seen.helped > 0, JSON.stringify(seen));
});

test('an open station hears whether it has its air, and is asked to lower where that helps', async () => {
  const busy = await answer('scene=busy');
  await shown('/station/A1?scene=busy', async (page) => {
    assert.equal(busy.stations.find((s) => s.id === 'A1').criterion.met, true);
    assert.equal(await line(page), 'A1 HAS ITS AIR');
    assert.match(await text(page, '#why'), /m³\/h.*implied, not measured/);
  }, tablet);
  const spare = busy.lower_first.reaches_ample[0].station;
  await shown(`/station/${spare}?scene=busy`, async (page) => {
    assert.match(await text(page, '#next'), new RegExp(`Not in use\\? Lower ${spare}`));
    assert.ok(await page.evaluate(() => document.body.classList.contains('asked')));
  }, tablet);
  const short = (await answer('scene=all-open')).lower_first.ends_short[0].station;
  await shown(`/station/${short}?scene=all-open`, async (page) => {
    assert.equal(await line(page), `LOWER ${short}`);
    assert.equal(await text(page, '#state'), 'short');
  }, tablet);
  const all = await answer('scene=all-open'), list = all.lower_first.ends_short.map((l) => l.station);
  const other = all.stations.find((s) => s.sash === 'raised' && s.criterion?.met && !s.own_fault && !s.at_limit && !list.includes(s.id));
  await shown(`/station/${other.id}?scene=all-open`, async (page) => {
    assert.equal(await line(page), 'AIR IS SHORT');
    assert.equal(await text(page, '#state'), 'air short');
    assert.equal(await text(page, '#next'), `Lower it if your work allows; asked first: ${list.join(', ')}.`);
    assert.ok((await text(page, '#why')).startsWith(`${other.id} itself has its air.`));
  }, tablet);
  // A4 holds a hot bath, the air short in Acid is none of S2's, and with SF/1 off no list helps.
  for (const [id, query, next] of [['A4', 'scene=open-day', /^Asked first: S3, /], ['S2', 'scene=busy&off=AF/2', /^Asked first: A6, /],
    ['A3', 'scene=busy&off=SF/1', /^No list of sashes to lower is known to help\.$/]])
    await shown(`/station/${id}?${query}`, async (page) => {
      assert.equal(await line(page), 'AIR IS SHORT');
      assert.match(await text(page, '#next'), next);
    }, tablet, demo);
  await shown('/station/A1?scene=quiet&sash=A1=60cm', async (page) => {
    assert.equal(await line(page), 'LOWER TO THE MARK: 45 cm');
    assert.match(await text(page, '#live'), /^TRIAL, not live/);
  }, tablet);
  await shown('/station/A1?scene=quiet&sash=A1=60cm&units=us', async (page) => assert.equal(await line(page), 'LOWER TO THE MARK: 17.7 in'), tablet);
});

// Where the suite says how sure its figures are, what is possible at the best estimate only is a no.
test('air at the best estimate only is NOT SURE: TREAT AS NO', async () => {
  let found = 0;
  for (const scene of ['busy', 'night', ''])
    for (const more of ['', '&sash=S3=parked', '&sash=A6=parked', '&sash=S5=work'])  {
      const air = await answer(`scene=${scene}${more}`, demo);
      const s = air.stations.find((x) => x.may_open?.sure === false && x.may_open.state_after !== 'short');
      if (!s || found > 1) continue;
      found++;
      assert.equal(air.sure.counts, true);
      await shown(`/station/${s.id}?scene=${scene}${more}`, async (page) => {
        assert.equal(await line(page), 'NOT SURE: TREAT AS NO');
        assert.match(await text(page, '#next'), new RegExp(`Leave ${s.id} parked`));
      }, tablet, demo);
    }
  assert.ok(found > 0, 'no such case in the demo suite any more: find another');
});

test('the card beside the answer: forbidden first, marks, wear with its source, documents with their dates', () => shown('/station/A1?scene=quiet', async (page) => {
  const heads = await page.$$eval('.card h2', (all) => all.map((e) => e.textContent));
  assert.deepEqual(heads, ['NOT HERE', 'What it is for', 'Sash mark', 'Glass mark', 'Wear', 'Criterion', 'Documents', 'Call']);
  const card = await text(page, '#card');
  for (const words of ['nitric acid with anything organic', 'acid', 'white, ring, letter R', 'Source: house rule 3', 'Acid work, version 4, reviewed 2026-03-19', 'the staff, 1234', '45 cm', 'face velocity 0.4–0.6 m/s', 'Source: a made-up limit for tests'])
    assert.ok(card.includes(words), words);
  assert.equal(await page.getAttribute('.sash', 'aria-label'), 'Sash mark 45 cm above the sill');
}, tablet, server));

test('a card that says nothing is no clearance; a station out of service is not here', async () => {
  await shown('/station/B1?scene=quiet', async (page) => assert.match(await text(page, '.not-here'), /Not stated in the suite file\. That is not a clearance\./), tablet, server);
  await shown('/station/C1?scene=quiet', async (page) => {
    assert.equal(await line(page), 'OUT OF SERVICE');
    assert.match(await text(page, '#next'), /Leave C1 parked/);
  }, tablet, server);
});

test('a cabinet without a sash is always on, not unknown', async () => {
  await shown('/station/CAB-06', async (page) => {
    assert.equal(await line(page), 'CAB-06 IS ALWAYS ON');
    assert.equal(await text(page, '#state'), 'air ample');
    assert.match(await text(page, '#why'), /It draws 120 m³\/h at all times; there is no sash to open\./);
  }, tablet, listed);
  await shown('/station/CAB-06?off=MU', async (page) => assert.equal(await text(page, '#state'), 'air short'), tablet, listed);
});

test('a glass mark whose shape nobody stated shows none of the shapes', () => shown('/station/FH-01', async (page) => {
  assert.equal(await page.$$eval('.glass rect, .glass path', (all) => all.length), 0);
  assert.match(await text(page, '.card'), /Its shape and letter not stated in the suite file\./);
}, tablet, listed));

test('a sash mark as high as the sash goes is written whole, and an id does not break at its hyphen', () => shown('/station/FH-01', async (page) => {
  const [svg, label] = await page.$eval('.sash', (e) => [e.getBoundingClientRect().top, e.querySelector('text').getBoundingClientRect().top]);
  assert.ok(label >= svg, `${label} above ${svg}`);
  assert.equal(await page.$eval('#line .id', (e) => `${e.textContent} ${e.getClientRects().length}`), 'FH-01 1');
}, tablet, listed));

test('an id that is not there gets a clear page and the way to the list; the query names a station too', async () => {
  const context = await browser.newContext(tablet), page = await context.newPage();
  const response = await page.goto(`${plain.url}station/Z9`);
  assert.equal(response.status(), 404);
  await page.waitForFunction(() => document.body.classList.contains('unknown'));
  assert.equal(await text(page, '#line'), 'NO STATION Z9');
  assert.match(await text(page, '#why'), /no station called Z9.*treat as no/s);
  await page.click('#next a');
  await page.waitForSelector('.places-list a');
  await page.click('a[href^="/station/A1"]');
  await page.waitForFunction(() => window.inward?.settled());
  assert.equal(await page.textContent('#who'), 'A1');
  await context.close();
  await shown('/station?station=A1&scene=quiet', async (p) => assert.equal(await p.textContent('#who'), 'A1'), tablet);
});

test('without a figure the station page says NOT KNOWN: TREAT AS NO', () => shown('/station/A1?scene=busy&off=AF', async (page) => {
  const air = await answer('scene=busy&off=AF'), level = air.state;
  if (level === 'not_known') assert.equal(await line(page), 'NOT KNOWN: TREAT AS NO');
  else assert.ok(['short', 'near limit', 'too little', 'its own fault'].includes(await text(page, '#state')), `${level}: ${await text(page, '#state')}`);
}, tablet));

for (const [name, viewport] of [['a 10 in tablet upright', { width: 768, height: 1024 }], ['the same on its side', { width: 1024, height: 768 }]])
  test(`the short lines stand 16 minutes of arc or more at 5 m on ${name}`, async () => {
    for (const path of ['/station/A2?scene=quiet', '/station/S1?scene=quiet'])
      await shown(path, async (page) => {
        for (const arcmin of await measured(page, '#line', 10.1)) assert.ok(arcmin >= 16, `${path}: ${arcmin.toFixed(1)}`);
      }, { viewport, hasTouch: true });
  });

test('gloves: everything to press on the station and list pages is 64 pixels high', async () => {
  for (const path of ['/station/A1', '/stations'])
    await shown(path, async (page) => {
      await page.waitForSelector('a');
      const small = await page.$$eval('a, button, input:not([type=hidden]), select', (all) => all.filter((e) => e.getBoundingClientRect().height > 0 && e.getBoundingClientRect().height < 63.5).map((e) => e.outerHTML.slice(0, 80)));
      assert.deepEqual(small, []);
    }, tablet, server);
});

// ---- the list ----

test('the list leads to every station by room, keeps the scene, and opens the wall with its settings', () => shown('/stations?scene=quiet', async (page) => {
  assert.equal(await page.textContent('h1'), 'Where do you stand?');
  const links = await page.$$eval('.places-list a', (all) => all.map((a) => a.getAttribute('href')));
  assert.deepEqual(links, ['A1', 'A2', 'B1', 'S1', 'C1'].map((id) => `/station/${id}?scene=quiet`));
  await page.fill('[name=screen]', '43 in');
  await page.click('button[type=submit]');
  await page.waitForFunction(() => document.querySelector('.pool'));
  assert.match(page.url(), /\/wall\?scene=quiet&distance=5\+m&screen=43\+in$/);
  assert.match(await text(page, '#sight'), /on a 43 in screen/);
}, phone));
