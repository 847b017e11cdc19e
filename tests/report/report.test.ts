import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { parseHTML } from 'linkedom';
import { expect, test } from 'vitest';
import { questionOf, reportHtml } from '../../src/report/report.js';
import { nsText } from '../../src/report/figures.js';
import { numberIn, pooledRows, textIn } from '../../src/report/sheet.js';
import { CAUTION, demonstration, demonstrationManifest, hostile } from './sample.js';

const page = await reportHtml(demonstration());
const { document } = parseHTML(page);

test('the demonstration has every part, stays under 2 MB, and the same folder gives the same bytes', async () => {
  expect(Buffer.byteLength(page)).toBeLessThan(2_000_000);
  expect([...document.querySelectorAll('section')].map(({ id }) => id)).toEqual([
    'answer',
    'tasks',
    'wiring',
    'paths',
    'latency',
    'stages',
    'blame',
    'time',
    'memory',
    'data',
    'source',
  ]);
  expect(await reportHtml(demonstration())).toBe(page);
});

test('how long a run took on the wall changes nothing', async () => {
  const slower = demonstrationManifest().replace('12345', '99999');
  expect(slower).not.toBe(demonstrationManifest());
  expect(await reportHtml(demonstration({ 'manifest.json': slower }))).toBe(page);
});

test('nothing in it can be fetched, and no script runs but the one whose hash the policy names', () => {
  const policy = document.querySelector('meta[http-equiv="Content-Security-Policy"]')!.getAttribute('content')!;
  expect(policy).toContain("default-src 'none'");
  const script = page.slice(page.lastIndexOf('<script>') + '<script>'.length, page.lastIndexOf('</script>'));
  expect(policy).toContain(`'sha256-${createHash('sha256').update(script).digest('base64')}'`);
  expect(document.querySelectorAll('[src], link, iframe, object, embed, image, use')).toHaveLength(0);
  const outside = [...document.querySelectorAll('[href]')].filter((one) => !one.getAttribute('href')!.startsWith('#'));
  expect(outside).toEqual([]);
  for (const [, target] of page.matchAll(/url\(([^)]*)\)/gu)) expect(target).toMatch(/^#/u);
});

const budgets = pooledRows(demonstration().sheets.get('budgets.csv'));

test('the question, the verdict with numbers, the command and the caution are there to be read', () => {
  expect(document.querySelector('h1')!.textContent).toBe(
    'Where does the classifier of an optical grain sorter attach, at the coherent port or at a fabric port?',
  );
  const answer = document.querySelector('#answer')!.textContent;
  expect(answer).toContain(
    `coherent and fabric each meet all ${budgets.length / 2} budgets, a claim that errs at most once in 20 for each.`,
  );
  const [coherent, fabric] = budgets
    .filter((row) => textIn(row, 'budget') === 'line_in_time')
    .map((row) => nsText(numberIn(row, 'measured')));
  expect(answer).toContain(`line_in_time: ${coherent} in coherent and ${fabric} in fabric, where at most 15,000 ns`);
  expect(document.querySelector('#source')!.textContent).toContain('burstyard run scenarios/grain-sorter.yaml');
  expect(document.querySelector('footer')!.textContent).toContain(CAUTION);
});

test('each path has a chart of its curves and the percentiles of its table beside it', () => {
  const first = document.querySelectorAll('#latency figure')[0]!;
  expect(first.querySelector('strong')!.textContent).toBe('classifier_read read');
  expect(first.querySelectorAll('.tail path')).toHaveLength(2);
  const row = pooledRows(demonstration().sheets.get('latency.csv')).find(
    (one) => textIn(one, 'master') === 'classifier_read' && textIn(one, 'level') === 'transfer',
  )!;
  const figures = ['p50', 'p90', 'p99', 'p99_9', 'max'].map((name) => numberIn(row, `${name}_ns`));
  // the table is whole from 1,000 ns on, and all of these are
  expect(Math.min(...figures.filter((ns) => ns !== null))).toBeGreaterThan(1000);
  const shown = figures.map((ns) => (ns === null ? '–' : Math.round(ns).toLocaleString('en-US'))).join(' ');
  expect(first.textContent.replace(/\s+/gu, ' ')).toContain(`coherent ${shown}`);
});

test('every table of the folder is there with its pooled rows, a table of thousands as text to save', () => {
  const files = [...document.querySelectorAll('#data details.data b')].map((one) => one.textContent);
  expect(files).toEqual([...demonstration().sheets.keys()]);
  expect(files).toContain('latency.csv');
  expect(document.querySelectorAll('#table-latency tbody tr')).toHaveLength(
    pooledRows(demonstration().sheets.get('latency.csv')).length,
  );
  expect(document.querySelectorAll('#table-distribution tbody tr')).toHaveLength(0);
});

test('that stages and blame are told of a sample is said where it is so, and only there', async () => {
  const said = (id: string, of: typeof document): boolean =>
    of.querySelector(`#${id}`)!.textContent.includes('a sample was');
  expect([said('stages', document), said('blame', document)]).toEqual([true, true]);
  const whole = (file: string): string =>
    readFileSync(new URL(`../../results/grain-sorter/${file}`, import.meta.url), 'utf8').replaceAll(
      /,0\.\d+\r\n/gu,
      ',1\r\n',
    );
  const shown = await reportHtml(demonstration({ 'stages.csv': whole('stages.csv'), 'blame.csv': whole('blame.csv') }));
  const { document: other } = parseHTML(shown);
  expect([said('stages', other), said('blame', other)]).toEqual([false, false]);
});

test('names that look like markup are shown as text, wherever they stand', async () => {
  const name = '<img src=x onerror=alert(1)>';
  const made = await reportHtml(hostile(name));
  expect(made).not.toContain('<img');
  const { document } = parseHTML(made);
  expect(document.querySelectorAll('img')).toHaveLength(0);
  const named = document.querySelectorAll('#blame th');
  expect([...named].some((one) => one.textContent === name)).toBe(true);
  expect(document.querySelector('.diagram')!.textContent).toContain(name);
});

test('a folder with a single table makes a report of what is there', async () => {
  const only = demonstration({
    'manifest.json': null,
    ...Object.fromEntries([...demonstration().sheets.keys()].map((file) => [file, null])),
    'memory.csv': 'scenario,placement,replication,memory,channel,row_hit_share,column_accesses\na,b,all,ddr,0,0.5,10\n',
  });
  const { document } = parseHTML(await reportHtml(only));
  expect([...document.querySelectorAll('section')].map(({ id }) => id)).toEqual(['answer', 'memory', 'data']);
  expect(document.querySelector('h1')!.textContent).toBe('Results');
});

test('the question is the first paragraph of the comment that says so', () => {
  expect(questionOf('# Question: which\n# of two?\n#\n# More.\ntitle: x\n')).toBe('Which of two?');
  expect(questionOf('title: x\n# Question: no\n')).toBeNull();
  expect(questionOf('# Something else\n')).toBeNull();
});
