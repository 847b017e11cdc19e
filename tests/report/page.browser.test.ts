import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import axe from 'axe-core';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { reportHtml } from '../../src/report/report.js';
import { numberIn, pooledRows, sheetOf, textIn } from '../../src/report/sheet.js';
import { call, put } from '../cli/rig.js';
import { shipped } from '../scenarios/shipped.js';
import { hasBrowser, startBrowser } from './browser.js';
import { demonstration, hostile } from './sample.js';

const LIMIT_MS = 240_000;
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** A page that is watched: what it asks for, and what it complains about. */
interface Watched {
  readonly page: Page;
  readonly complaints: string[];
  readonly requests: string[];
}

describe.skipIf(!hasBrowser)('the report in a browser', () => {
  let browser: Browser;
  let folder: string;
  beforeAll(async () => {
    browser = await startBrowser();
    folder = mkdtempSync(join(tmpdir(), 'burstyard-pages-'));
  });
  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function open(file: string, options: BrowserContextOptions = {}): Promise<Watched> {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 }, ...options });
    const complaints: string[] = [];
    const requests: string[] = [];
    page.on('console', (message) => {
      if (['error', 'warning'].includes(message.type())) complaints.push(message.text());
    });
    page.on('pageerror', (error) => complaints.push(error.message));
    page.on('request', (request) => requests.push(request.url()));
    await page.goto(pathToFileURL(file).href);
    return { page, complaints, requests };
  }

  const openAll = (page: Page) =>
    page.evaluate(`for (const one of document.querySelectorAll('details')) one.open = true`);

  /** What the scan for accessibility finds that is serious or worse, with the places. */
  async function seriousFindings(page: Page): Promise<string[]> {
    await page.evaluate(AXE);
    const { violations } = (await page.evaluate(
      'axe.run(document, { resultTypes: ["violations"] })',
    )) as axe.AxeResults;
    return violations
      .filter(({ impact }) => impact === 'serious' || impact === 'critical')
      .map(({ id, nodes }) => `${id}: ${nodes[0]!.target.join(' ')} ${nodes[0]!.failureSummary}`);
  }

  /** Charts in which nothing is drawn. */
  const emptyCharts = (page: Page) =>
    page.evaluate(`[...document.querySelectorAll('svg.chart, svg.diagram')]
      .filter((svg) => ![...svg.querySelectorAll('path, rect, circle, line')].some((mark) => {
        const box = mark.getBoundingClientRect();
        return box.width + box.height > 2;
      }))
      .map((svg) => svg.getAttribute('aria-label'))`);

  const overflow = (page: Page) =>
    page.evaluate('document.documentElement.scrollWidth - document.documentElement.clientWidth');

  describe.each(shipped)('of %s', (scenario) => {
    let file: string;
    beforeAll(async () => {
      const out = join(folder, scenario);
      const path = new URL(`../../scenarios/${scenario}`, import.meta.url).pathname;
      const run = await call(['run', path, '--replications', '2', '--out', out]);
      expect(run.err).toBe('');
      expect((await call(['report', out])).code).toBe(0);
      file = join(out, 'report.html');
    }, LIMIT_MS);

    test(
      'opens without a complaint, asks for nothing else, draws something in every chart, and fits a phone',
      async () => {
        const { page, complaints, requests } = await open(file);
        await openAll(page);
        expect(await page.locator('svg.chart').count()).toBeGreaterThan(5);
        expect(await emptyCharts(page)).toEqual([]);
        expect(await overflow(page)).toBe(0);
        await page.setViewportSize({ width: 390, height: 800 });
        expect(await overflow(page)).toBe(0);
        expect(complaints).toEqual([]);
        expect(requests).toEqual([pathToFileURL(file).href]);
        await page.close();
      },
      LIMIT_MS,
    );

    test(
      'a scan for accessibility finds nothing serious',
      async () => {
        const { page } = await open(file);
        await openAll(page);
        expect(await seriousFindings(page)).toEqual([]);
        await page.close();
      },
      LIMIT_MS,
    );
  });

  describe('of the demonstration', () => {
    let file: string;
    beforeAll(async () => {
      file = put(folder, 'demonstration.html', await reportHtml(demonstration()));
    }, LIMIT_MS);

    const cellsOf = (page: Page, column: number) =>
      page.locator(`#table-latency tbody td:nth-child(${column})`).allTextContents();

    test('a press on the name of a column sorts by it, up and then down, with empty cells last', async () => {
      const { page } = await open(file);
      await page.locator('#table-latency > summary').click();
      const head = page.locator('#table-latency thead th', { hasText: 'p99_9_ns' });
      const column = 1 + (await page.locator('#table-latency thead th').allTextContents()).indexOf('p99_9_ns');
      const before = await cellsOf(page, column);
      for (const [direction, sign] of [
        ['ascending', 1],
        ['descending', -1],
      ] as const) {
        await head.getByRole('button').click();
        expect(await head.getAttribute('aria-sort')).toBe(direction);
        const cells = await cellsOf(page, column);
        const filled = cells.filter((cell) => cell !== '');
        expect(cells.slice(0, filled.length)).toEqual(filled);
        expect(filled.map(Number)).toEqual(filled.map(Number).toSorted((a, b) => sign * (a - b)));
        expect(cells.toSorted()).toEqual(before.toSorted());
      }
      await page.close();
    });

    test.each(['latency.csv', 'distribution.csv', 'timeline.csv'])('%s is saved as the folder has it', async (name) => {
      const { page } = await open(file);
      await page.locator(`#table-${name.replace('.csv', '')} > summary`).click();
      const waiting = page.waitForEvent('download');
      await page
        .locator('#data')
        .getByRole('button', { name: `Save ${name}` })
        .click();
      const download = await waiting;
      expect(download.suggestedFilename()).toBe(name);
      const saved = sheetOf(name, readFileSync(await download.path(), 'utf8'));
      const stored = demonstration().sheets.get(name)!;
      expect(saved.columns).toEqual(stored.columns.filter((column) => column !== 'replication'));
      expect(saved.rows.map((row) => [...row.values()])).toEqual(
        pooledRows(stored).map((row) => saved.columns.map((column) => textIn(row, column))),
      );
      await page.close();
    });

    test('the path of another master is marked in every placement when it is chosen', async () => {
      const { page } = await open(file);
      const marked = (place: number) =>
        page.locator('.diagram').nth(place).locator('.element.on .name').allTextContents();
      expect(await marked(0)).toEqual(['coherent0', 'cluster', 'ddr']);
      expect(await marked(1)).toEqual(['fabric1', 'fabric_switch', 'ddr']);
      await page.getByRole('radio', { name: 'ethernet' }).check();
      for (const place of [0, 1]) expect(await marked(place)).toEqual(['dma0', 'central', 'ddr']);
      expect(await page.locator('.marked').allTextContents()).toEqual(['ethernet', 'ethernet']);
      await page.close();
    });

    test('figures of the diagram and of the curves are reached by the keyboard', async () => {
      const { page } = await open(file);
      await page.getByRole('radio', { name: 'classifier_read' }).focus();
      await page.keyboard.press('Tab');
      await page.keyboard.press('ArrowDown');
      await page.keyboard.press('ArrowDown');
      expect(await page.locator('#wiring .readout').first().textContent()).toMatch(/^\S.* (busy|in all|carried)/u);
      const chart = page.locator('svg[data-tail]').first();
      await chart.focus();
      for (let i = 0; i < 4; i++) await page.keyboard.press('ArrowDown');
      const said = (await page.locator('#latency .readout').first().textContent())!;
      const [, coherent, fabric] = /^99 % within: coherent ([\d,]+) ns; fabric ([\d,]+) ns$/u.exec(said) ?? [];
      const stored = pooledRows(demonstration().sheets.get('latency.csv'))
        .filter((row) => textIn(row, 'master') === 'classifier_read' && textIn(row, 'level') === 'transfer')
        .map((row) => numberIn(row, 'p99_ns')!);
      // the bin's width, and that a curve falls evenly within it
      expect(Number(coherent!.replace(',', '')) / stored[0]!).toBeCloseTo(1, 1);
      expect(Number(fabric!.replace(',', '')) / stored[1]!).toBeCloseTo(1, 1);
      await page.close();
    });

    test('all charts over time show the part that the sliders say', async () => {
      const { page } = await open(file);
      await page.locator('.zoom-from').fill('20');
      await page.locator('.zoom-to').fill('40');
      expect(await page.locator('.zoom output').textContent()).toBe('2,000 µs to 2,500 µs');
      const transforms = await page
        .locator('svg[data-course] .course')
        .evaluateAll((lines) => [...new Set(lines.map((line) => line.getAttribute('transform')))]);
      expect(transforms).toHaveLength(1);
      expect(transforms[0]).toContain('scale(5 1)');
      await page.getByRole('button', { name: 'All of it' }).click();
      expect(await page.locator('.zoom output').textContent()).toBe('1,500 µs to 4,000 µs');
      await page.close();
    });

    test('with scripts switched off all of it is there to be read', async () => {
      const { page } = await open(file, { javaScriptEnabled: false });
      expect(await page.locator('h1').isVisible()).toBe(true);
      expect(await page.locator('svg.chart').first().isVisible()).toBe(true);
      expect(await page.locator('.for-script').first().isVisible()).toBe(false);
      await page.locator('#table-latency > summary').click();
      expect(await page.locator('#table-latency tbody tr').first().isVisible()).toBe(true);
      await page.close();
    });

    test(
      'on a dark screen too a scan for accessibility finds nothing serious',
      async () => {
        const { page } = await open(file, { colorScheme: 'dark' });
        await openAll(page);
        expect(await seriousFindings(page)).toEqual([]);
        await page.close();
      },
      LIMIT_MS,
    );

    test('it prints, with tables whole: nothing is wider than the sheet', async () => {
      const { page } = await open(file);
      await page.emulateMedia({ media: 'print' });
      await page.setViewportSize({ width: 703, height: 1032 });
      await openAll(page);
      expect(await overflow(page)).toBe(0);
      expect((await page.pdf({ preferCSSPageSize: true })).length).toBeGreaterThan(50_000);
      await page.close();
    });
  });

  test('names that look like markup are shown as text, and nothing of them runs', async () => {
    const name = '<img src=x onerror="document.title=1">';
    const file = put(folder, 'hostile.html', await reportHtml(hostile(name)));
    const { page, complaints, requests } = await open(file);
    await openAll(page);
    expect(await page.locator('img').count()).toBe(0);
    expect(await page.locator('#blame th', { hasText: name }).count()).toBeGreaterThan(0);
    await page.locator('.diagram .master').first().click();
    expect(await page.title()).toBe('an optical grain sorter decides where its classifier attaches');
    expect(complaints).toEqual([]);
    expect(requests).toHaveLength(1);
    await page.close();
  });
});
