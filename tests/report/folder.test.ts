import { expect, test } from 'vitest';
import { FolderError, readFolder } from '../../src/report/folder.js';
import { demonstrationManifest } from './sample.js';

const folder = (files: Readonly<Record<string, string>>) => readFolder((file) => files[file] ?? null);

test('what a manifest of an older version lacks is empty, not guessed', () => {
  const { manifests } = folder({ 'manifest.json': '{ "version": "0.0.9", "seed": "1", "replications": 2 }' });
  expect(manifests.get('manifest.json')).toMatchObject({ version: '0.0.9', command: '', platforms: [], warnings: [] });
});

test('the manifest that a run writes is understood whole', () => {
  const { manifests } = folder({ 'manifest.json': demonstrationManifest() });
  const manifest = manifests.get('manifest.json')!;
  expect(manifest.platforms.map(({ placement }) => placement)).toEqual(['coherent', 'fabric']);
  expect(manifest.platforms[0]!.masters.find(({ name }) => name === 'classifier_read')).toMatchObject({
    attach: 'coherent0',
    path: ['coherent0', 'cluster'],
    refill: ['cluster', 'ddr'],
  });
  expect(manifest.platforms[0]!.budgets[0]).toEqual({
    name: 'line_in_time',
    subject: 'classifier_read read',
    quantity: 'p99 of transfer latency',
    bound: 'at_most',
  });
});

test('a file that is not what its name says is named, with what to do', () => {
  expect(() => folder({ 'manifest.json': '{' })).toThrow(FolderError);
  expect(() => folder({ 'manifest.json': '{' })).toThrow(/^manifest\.json cannot be read: /u);
  expect(() => folder({ 'manifest.json': '{ "version": 3 }' })).toThrow('manifest.json is not a manifest: version');
  expect(() => folder({ 'manifest.json': '{ "state": "running" }' })).toThrow('the run is not finished');
  expect(() => folder({ 'latency.csv': 'a,b\n1\n' })).toThrow('latency.csv cannot be read: CSV record 2');
});

test('a table without rows is as one that is not there', () => {
  expect(folder({ 'cache.csv': 'scenario,cache\r\n' }).sheets.size).toBe(0);
});
