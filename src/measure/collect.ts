import { CoherenceUnit } from '../model/coherence/coherence-unit.js';
import { Core } from '../model/core.js';
import type { CacheCounts } from '../model/coherence/cache-counts.js';
import { DdrController } from '../model/dram/controller.js';
import type { ChannelUse, Element } from '../model/element.js';
import type { Simulation } from '../model/simulation.js';
import type { CacheCounters, ChannelCounters, ElementCounters } from './results.js';

/** What the elements, DRAM channels and caches of a finished run counted inside the window. */
export function collectCounters(simulation: Simulation): {
  elements: ElementCounters[];
  channels: ChannelCounters[];
  caches: CacheCounters[];
} {
  const { elements, masters } = simulation.model;
  const names = masters.map(({ spec }) => spec.name);
  const caches = [
    ...elements.filter((element) => element instanceof CoherenceUnit).map((unit) => unit.counts),
    ...masters.flatMap((master) => (master instanceof Core && master.counts !== null ? [master.counts] : [])),
  ];
  return {
    elements: elements.flatMap(elementRows),
    channels: elements.filter((element) => element instanceof DdrController).flatMap(channelRows),
    caches: caches.flatMap((counts) => cacheRows(counts, names)),
  };
}

/** One row for the element, then one for each of its channels that was used. */
function elementRows(element: Element): ElementCounters[] {
  const { name, kind } = element.base;
  const channels = [...element.channels()];
  const servers = channels.filter((channel) => channel.kind === 'server');
  const busy = channels.map((channel) => channel.busy.totalPs);
  const whole: ElementCounters = {
    element: name,
    kind,
    busyPs: servers.length > 0 ? sum(servers.map((server) => server.busy.totalPs)) : Math.max(0, ...busy),
    servers: Math.max(1, servers.length),
    queueAreaPs: element.queued.areaPs,
    maxQueue: element.queued.largest,
    grants: servers.length > 0 ? sum(servers.map((server) => server.grants)) : sum(forwardGrants(channels)),
    stallPs: Math.max(0, ...channels.map((channel) => channel.stalled?.totalPs ?? 0)),
  };
  return [whole, ...channels.filter((channel) => channel.busy.totalPs > 0).map((channel) => channelRow(name, channel))];
}

function channelRow(element: string, channel: ChannelUse): ElementCounters {
  return {
    element: `${element} / ${channel.name}`,
    kind: channel.kind,
    busyPs: channel.busy.totalPs,
    servers: 1,
    queueAreaPs: 0,
    maxQueue: 0,
    grants: channel.grants,
    stallPs: channel.stalled?.totalPs ?? 0,
  };
}

/** Grants on the way forward where there are any (a crossbar), else of whatever the element grants. */
function forwardGrants(channels: readonly ChannelUse[]): number[] {
  const forward = channels.filter((channel) => channel.stalled !== null);
  return (forward.length > 0 ? forward : channels.slice(0, 1)).map((channel) => channel.grants);
}

function channelRows(memory: DdrController): ChannelCounters[] {
  const { tckNumerator, tckDenominator, busBytes } = memory.timing;
  // two beats a clock
  const peakBytesPerS = (2 * busBytes * 1e12 * tckDenominator) / tckNumerator;
  return memory.dram.map(({ number, use }) => ({
    memory: memory.base.name,
    channel: number,
    rowHits: use.rowHits,
    rowEmpties: use.rowEmpties,
    rowConflicts: use.rowConflicts,
    refreshPs: use.refreshPs / use.refreshShares,
    turnaroundPs: use.turnaroundPs,
    beats: use.beats,
    wastedBeats: use.wastedBeats,
    readBytes: use.readBytes,
    writeBytes: use.writeBytes,
    peakBytesPerS,
    columnAccesses: use.columnAccesses,
  }));
}

function cacheRows(counts: CacheCounts, names: readonly string[]): CacheCounters[] {
  return [...counts.used()].map(([master, count]) => ({ cache: counts.cache, master: names[master]!, ...count }));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
