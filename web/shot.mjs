import { chromium } from 'playwright-core';
const base = process.argv[2];
const b = await chromium.launch({ executablePath: '/usr/bin/chromium', args: ['--headless','--disable-gpu','--no-sandbox','--disable-quic','--disable-background-networking'] });
const c = await b.newContext({ viewport: { width: 1920, height: 1080 } });
for (const p of process.argv.slice(3)) {
  const page = await c.newPage();
  page.on('pageerror', (e) => console.log(p, 'ERR', e.message));
  page.on('console', (m) => { if (m.type() === 'error') console.log(p, m.text()); });
  await page.goto(base + p);
  await page.waitForTimeout(5000);
  await page.screenshot({ path: `/tmp/demo/shot${p.replace(/\W/g, '_')}.png` });
  console.log(p, (await page.textContent('#age')));
}
await b.close();
