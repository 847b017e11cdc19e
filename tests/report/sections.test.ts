import { parseHTML } from 'linkedom';
import { expect, test } from 'vitest';
import { readFolder } from '../../src/report/folder.js';
import { reportHtml } from '../../src/report/report.js';

/** The page of a folder with these files, as a document. */
async function pageOf(files: Readonly<Record<string, readonly string[]>>) {
  const folder = readFolder((file) => files[file]?.join('\r\n') ?? null);
  return parseHTML(await reportHtml(folder)).document;
}

const plain = (text: string | null | undefined): string => (text ?? '').replace(/\s+/gu, ' ').trim();

const COMPARISON = [
  'scenario,placement,replication,metric,baseline,variant,baseline_value,variant_value,difference,difference_ci95_low,difference_ci95_high,ratio,verdict',
  's,b,all,camera write burst p99_ns,a,b,100,200,100,90,110,2,baseline_better',
  's,b,all,dma read bandwidth_mb_per_s,a,b,50,60,10,9,11,1.2,variant_better',
  's,b,all,ddr utilisation,a,b,0.5,0.5,0,-0.01,0.01,1,no_difference_shown',
  's,b,all,core read burst p99_9_ns,a,b,,,,,,,too_few_samples',
];

test('a comparison says how often which is better, draws each ratio, and lists what cannot be judged', async () => {
  const page = await pageOf({ 'comparison.csv': COMPARISON });
  expect(plain(page.querySelector('#answer')!.textContent)).toContain(
    'Of 4 metrics compared on the same draws, a is better in 1, b is better in 1 and 2 show no difference or cannot be judged',
  );
  expect(plain(page.querySelector('#answer')!.textContent)).toContain(
    'a gains most in camera write burst p99 (100.0 ns against 200.0 ns)',
  );
  const drawn = plain(page.querySelector('#comparison svg.chart')!.textContent);
  expect(drawn).toContain('a better, ×1.9 to ×2.1');
  expect(drawn).toContain('b better, ×1.18 to ×1.22');
  expect(drawn).not.toContain('core read');
  const rows = [...page.querySelectorAll('#comparison tbody tr')].map((row) => plain(row.textContent));
  expect(rows).toHaveLength(4);
  expect(rows[3]).toContain('core read burst p99.9');
  expect(rows[3]).toContain('too few samples');
});

const BUDGETS = [
  'scenario,placement,replication,budget,level,limit,measured,unit,margin_share,verdict',
  's,a,all,in_time,burst,100,80,ns,0.2,met',
  's,b,all,in_time,burst,100,150,ns,-0.5,missed',
  's,a,all,enough,,50,60,MB/s,0.2,undecided',
  's,a,1,in_time,burst,100,1,ns,0.99,',
];

test('budgets that are missed or open are told first, with what was measured against what', async () => {
  const page = await pageOf({ 'budgets.csv': BUDGETS });
  const said = [...page.querySelectorAll('.answer li.bad')].map((one) => plain(one.textContent));
  expect(said).toEqual([
    '!a: budget enough is undecided: 60 MB/s against at least 50 MB/s.',
    '!b: budget in_time is missed: 150.0 ns against at most 100.0 ns.',
  ]);
  const cells = [...page.querySelectorAll('.budgets tbody td')].map((one) => plain(one.textContent));
  expect(cells[0]).toBe('✓ met 80.0 ns 20.0 % to spare');
  expect(cells[1]).toBe('✗ missed 150.0 ns 50.0 % beyond');
  expect(cells[3]).toBe('–');
});

const SWEEP = [
  'scenario,placement,replication,masters.camera.issue.rate_mb_per_s,buffers.lines.cached,metric,value,value_ci95_low,value_ci95_high,unit,state',
  ...['a', 'b'].flatMap((placement) =>
    [100, 300, 200].map(
      (rate) => `s,${placement},all,${rate},yes,camera write burst mean_ns,${rate / 2},1,2,ns,measured`,
    ),
  ),
];
const CROSSING = [
  'scenario,placement,replication,key,metric,baseline,variant,low_mb_per_s,high_mb_per_s,better_below,better_above,verdict',
  's,,all,masters.camera.issue.rate,camera write burst mean_ns,a,b,150,170,a,b,narrowed',
];

test('a sweep has a curve a placement along the key that varies, with its intervals and where the rank changes', async () => {
  const page = await pageOf({ 'sweep.csv': SWEEP, 'crossing.csv': CROSSING });
  const [chart, ...more] = page.querySelectorAll('#sweep svg.chart');
  expect(more).toEqual([]);
  expect(chart!.getAttribute('aria-label')).toBe(
    'camera write burst mean over masters.camera.issue.rate_mb_per_s. a: 50.0 ns to 150.0 ns; b: 50.0 ns to 150.0 ns.',
  );
  expect(chart!.querySelectorAll('rect')).toHaveLength(1);
  const said = 'a is better below, b above; they change rank at masters.camera.issue.rate of 150 to 170 MB/s.';
  expect(plain(page.querySelector('#answer')!.textContent)).toContain(said);
  expect(plain(page.querySelector('#sweep')!.textContent)).toContain(said);
});

test('a crossing alone is told in words', async () => {
  const page = await pageOf({ 'crossing.csv': CROSSING });
  expect(plain(page.querySelector('#sweep')!.textContent)).toContain('they change rank at');
});

test('a search for a placement says which assignment is best, and what speaks against the others', async () => {
  const page = await pageOf({
    'place.csv': [
      'scenario,placement,replication,rank,status,attach_vision,alike_vision,goal,value,difference,difference_ci95_low,difference_ci95_high,fails',
      's,,all,1,best,coherent0,coherent0,camera write burst p99_ns,120,0,,,',
      's,,all,,budget_missed,general0,general0,camera write burst p99_ns,900,780,700,800,in_time',
    ],
  });
  expect(plain(page.querySelector('#answer')!.textContent)).toContain(
    'Best is vision at coherent0: camera write burst p99 is 120.0 ns.',
  );
  const rows = [...page.querySelectorAll('#place tbody tr')].map((row) => plain(row.textContent));
  expect(rows[1]).toContain('general0');
  expect(rows[1]).toContain('in time');
});

test('tasks are listed with their times, deadlines and what hand-overs cost', async () => {
  const page = await pageOf({
    'tasks.csv': [
      'scenario,placement,replication,task,instances,mean_us,p50_us,p99_us,max_us,deadline_us,deadline_misses,dropped,maintenance_share',
      's,a,all,frame,40,12.5,12,15,16.25,20,0,1,0.25',
    ],
  });
  const row = [...page.querySelectorAll('#tasks tbody tr > *')].map((cell) => plain(cell.textContent));
  expect(row).toEqual(['frame', 'a', '40', '12.50', '12.00', '15.00', '16.25', '20.00', '0', '1', '25.0 %']);
});

test('what was overloaded, unfinished or stale is said in the answer', async () => {
  const page = await pageOf({
    'latency.csv': [
      'scenario,placement,replication,master,port,target,operation,level,count,unfinished,mean_ns,p50_ns,p99_ns,max_ns,state',
      's,a,all,dma,p0,ddr,read,burst,10,3,50,40,90,95,overloaded',
    ],
    'cache.csv': ['scenario,placement,replication,cache,master,lookups,stale_reads', 's,a,all,cluster L2,dma,10,1'],
  });
  const said = [...page.querySelectorAll('.answer li.bad')].map((one) => plain(one.textContent));
  expect(said).toEqual([
    '!Overloaded: dma read in a.',
    '!Some bursts had not come back at the end: dma read in a.',
    '!dma met stale data in a, 1 access past cluster L2.',
  ]);
});

const TIMELINE = [
  'scenario,placement,replication,window_start_us,master,read_mb_per_s,write_mb_per_s,mean_latency_ns,max_latency_ns',
  ...[1, 2].flatMap((replication) =>
    Array.from(
      { length: 1000 },
      (_, i) => `s,a,${replication},${i},dma,${i === 500 ? 80 : 8 * replication},2,5,${i === 700 ? 900 : 10}`,
    ),
  ),
];

test('the course of one replication is drawn, and no largest latency is lost where windows are drawn together', async () => {
  const page = await pageOf({ 'timeline.csv': TIMELINE });
  const [bandwidth, latency] = page.querySelectorAll('#time svg.chart');
  expect(bandwidth!.getAttribute('aria-label')).toMatch(/^bandwidth of dma over time/u);
  expect(latency!.getAttribute('aria-label')).toBe('largest latency of dma over time; the most is 900 ns.');
  expect(page.querySelector('.zoom')!.getAttribute('data-end')).toBe('1000');
  expect(bandwidth!.querySelectorAll('.course path')).toHaveLength(1);
});
