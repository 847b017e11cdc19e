/** Draws the pictures of the README: parts of the demonstration's report, from its stored tables. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
import { reportHtml } from '../../src/report/report.js';
import { startBrowser } from './browser.js';
import { demonstration } from './sample.js';
import { smallerPng } from './smaller-png.js';

const FOLDER = fileURLToPath(new URL('../../results/grain-sorter/', import.meta.url));
/** A picture that is larger says too much at once. */
const MOST_BYTES = 150_000;
const WIDTH = 940;

/** From the top of one element to the end of another. */
const PICTURES = [
  { name: 'report-answer.png', from: 'header', to: '#answer' },
  { name: 'report-wiring.png', from: '#wiring figure:first-of-type', to: '#wiring figure:last-of-type' },
  {
    name: 'report-latency.png',
    from: '#latency details:nth-of-type(2) .cards',
    to: '#latency details:nth-of-type(2) .small:nth-of-type(4)',
  },
  { name: 'report-stages.png', from: '#stages .legend', to: '#stages figure' },
];

const scratch = mkdtempSync(join(tmpdir(), 'burstyard-pictures-'));
const browser = await startBrowser();
try {
  const file = join(scratch, 'report.html');
  writeFileSync(file, await reportHtml(demonstration()));
  const page = await browser.newPage({ viewport: { width: WIDTH, height: 900 }, colorScheme: 'light' });
  await page.goto(pathToFileURL(file).href);
  for (const { name, from, to } of PICTURES) {
    const [first, last] = [await page.locator(from).first().boundingBox(), await page.locator(to).last().boundingBox()];
    const [top, bottom] = [first!.y - 8, last!.y + last!.height + 8];
    const clip = { x: 0, y: top, width: WIDTH, height: bottom - top };
    const png = smallerPng(await page.screenshot({ fullPage: true, clip }));
    writeFileSync(join(FOLDER, name), png);
    const size = png.length;
    console.log(`${name}: ${Math.round(size / 1000)} kB`);
    if (size > MOST_BYTES) throw new Error(`${name} has ${size} bytes, more than ${MOST_BYTES}`);
  }
} finally {
  await browser.close();
  rmSync(scratch, { recursive: true });
}
