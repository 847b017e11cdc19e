import { expect, test } from 'vitest';
import { platformFacts } from '../../src/output/platform.js';
import { diagramOf } from '../../src/report/diagram.js';
import { placed } from '../../src/report/diagram-layout.js';
import type { Platform } from '../../src/report/folder.js';
import { sheetOf } from '../../src/report/sheet.js';
import { read, systemOf } from '../scenarios/shipped.js';

const platformOf = (placement: string) =>
  platformFacts(systemOf(read('grain-sorter.yaml'), placement)) as unknown as Platform;

const resources = sheetOf(
  'resources.csv',
  [
    'element,utilisation,grants',
    'coherent0,0.06,9',
    'coherent0 / cluster write,0.05,9',
    'cluster / coherent0 read data,0.02,9',
    'cluster bypass / ddr write,0.03,9',
    'ddr / cluster read data,0.07,9',
    'cluster bypass,0.07,9',
  ].join('\n'),
).rows;
const latency = sheetOf(
  'latency.csv',
  'master,operation,level,bandwidth_mb_per_s\nos_data,read,burst,60\nos_data,write,burst,30\nos_data,read,port,60\n',
).rows;

test('a link is loaded by its busiest channel either way, past the tags of a coherence unit too', () => {
  const { links } = diagramOf(platformOf('coherent'), resources, latency);
  const load = (from: string, to: string) =>
    links.find((link) => link.from === `element ${from}` && link.to === `element ${to}`)!;
  expect(load('coherent0', 'cluster').channels).toEqual([
    { name: 'write', busy: 0.05 },
    { name: 'read data', busy: 0.02 },
  ]);
  expect(load('coherent0', 'cluster').load).toBe(0.05);
  expect(load('cluster', 'ddr').load).toBe(0.07);
  expect(load('fabric0', 'fabric_switch').load).toBe(0);
});

test('links know whose bursts take them, and for whom a cache fetches over them', () => {
  const { links } = diagramOf(platformOf('coherent'), resources, latency);
  const toDdr = links.find((link) => link.from === 'element cluster' && link.to === 'element ddr')!;
  expect(toDdr.users).toEqual([]);
  expect(toDdr.refillUsers).toContain('classifier_read');
  const fabric = diagramOf(platformOf('fabric'), [], []).links;
  expect(fabric.find((link) => link.to === 'element ddr' && link.from === 'element fabric_switch')!.users).toEqual([
    'camera',
    'classifier_read',
    'classifier_verdict',
    'archiver',
  ]);
});

test('masters at one place share a box, with what all their paths carried; without figures none is made up', () => {
  const { boxes } = diagramOf(platformOf('coherent'), resources, latency);
  const cores = boxes.find(({ id }) => id === 'masters cluster')!;
  expect(cores.masters.map(({ name }) => name)).toEqual(['os_data', 'os_copy', 'valve_watch', 'valve_fire']);
  expect(cores.masters[0]).toEqual({ name: 'os_data', mbPerS: 90 });
  expect(cores.masters[1]).toEqual({ name: 'os_copy', mbPerS: null });
  expect(boxes.find(({ id }) => id === 'element cluster')!.idle).toBe(false);
  expect(boxes.find(({ id }) => id === 'element flash')!.idle).toBe(true);
});

test('boxes do not overlap, links join the boxes that they name, and a second layout is the same', async () => {
  const diagram = diagramOf(platformOf('fabric'), resources, latency);
  const layout = await placed(diagram, ({ load }) => (load === null ? '' : 'label'));
  const { boxes, links } = layout;
  for (const [i, a] of boxes.entries()) {
    for (const b of boxes.slice(i + 1)) {
      const apart = a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y;
      expect(apart, `${a.box.id} and ${b.box.id}`).toBe(true);
    }
  }
  for (const { link, points } of links) {
    const from = boxes.find(({ box }) => box.id === link.from)!;
    const to = boxes.find(({ box }) => box.id === link.to)!;
    expect(points[0]!.x).toBeCloseTo(from.x + from.width, 0);
    expect(points.at(-1)!.x).toBeCloseTo(to.x, 0);
  }
  expect(await placed(diagram, ({ load }) => (load === null ? '' : 'label'))).toEqual(layout);
});
