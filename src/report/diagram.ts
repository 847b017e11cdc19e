/** A platform as boxes and links with what they carried, before anything is placed or drawn. */
import type { Platform, PlatformElement, PlatformMaster } from './folder.js';
import { numberIn, type SheetRow, textIn } from './sheet.js';

/** A box: an element, or all masters that are attached at one. */
export interface Box {
  readonly id: string;
  readonly element: PlatformElement | null;
  readonly masters: readonly MasterLine[];
  /** Share of the time in which the element was busy; null for masters, and where nothing was measured. */
  readonly busy: number | null;
  /** Nothing went through it. */
  readonly idle: boolean;
}

export interface MasterLine {
  readonly name: string;
  /** What all its paths carried; null where nothing was measured. */
  readonly mbPerS: number | null;
}

export interface Link {
  readonly from: string;
  readonly to: string;
  /** Of the channels of the link, either way: the share of the time in which each was busy. */
  readonly channels: readonly { readonly name: string; readonly busy: number }[];
  /** The busiest of them; null where nothing was measured. */
  readonly load: number | null;
  /** Of a link from masters. */
  readonly mbPerS: number | null;
  /** Masters whose bursts take it, and those for whom a cache fetches or writes back over it. */
  readonly users: readonly string[];
  readonly refillUsers: readonly string[];
}

export interface Diagram {
  readonly boxes: readonly Box[];
  readonly links: readonly Link[];
}

const FORWARD = ['read address', 'write'];
const BACK = ['read data', 'write response'];

/** The boxes and links of a platform, with the loads that `resources` (pooled rows of its placement) and `latency` tell. */
export function diagramOf(platform: Platform, resources: readonly SheetRow[], latency: readonly SheetRow[]): Diagram {
  const busy = new Map(resources.map((row) => [textIn(row, 'element'), numberIn(row, 'utilisation')]));
  const grants = new Map(resources.map((row) => [textIn(row, 'element'), numberIn(row, 'grants')]));
  // in the order of the elements, so that lines cross as little as those of the platform do
  const used = new Set(platform.masters.map(({ attach }) => attach));
  const attachments = platform.elements.map(({ name }) => name).filter((name) => used.has(name));
  const entries = attachments.map((attach) => mastersBox(platform, attach, latency));
  const elements = platform.elements.map((element): Box => ({
    id: elementId(element.name),
    element,
    masters: [],
    busy: busy.get(element.name) ?? null,
    // a unit is used where either of its two ways is
    idle: [element.name, `${element.name} bypass`].every((name) => (grants.get(name) ?? 0) === 0),
  }));
  const between = platform.elements.flatMap((element) =>
    element.to.map((to) => elementLink(platform, element.name, to, busy)),
  );
  return {
    boxes: [...entries, ...elements],
    links: [...attachments.map((attach, i) => entryLink(platform, attach, entries[i]!)), ...between],
  };
}

export const elementId = (name: string): string => `element ${name}`;
const entryId = (attach: string): string => `masters ${attach}`;

function mastersBox({ masters }: Platform, attach: string, latency: readonly SheetRow[]): Box {
  const lines = masters
    .filter((master) => master.attach === attach)
    .map(({ name }) => ({ name, mbPerS: carried(name, latency) }));
  return { id: entryId(attach), element: null, masters: lines, busy: null, idle: false };
}

function carried(master: string, latency: readonly SheetRow[]): number | null {
  const rates = latency
    .filter((row) => textIn(row, 'master') === master && textIn(row, 'level') === 'burst')
    .map((row) => numberIn(row, 'bandwidth_mb_per_s') ?? 0);
  return rates.length === 0 ? null : rates.reduce((sum, rate) => sum + rate, 0);
}

function entryLink({ masters }: Platform, attach: string, box: Box): Link {
  const rates = box.masters.map(({ mbPerS }) => mbPerS);
  const users = masters.filter((master) => master.attach === attach).map(({ name }) => name);
  const mbPerS = rates.includes(null) ? null : rates.reduce<number>((sum, rate) => sum + rate!, 0);
  return { from: box.id, to: elementId(attach), channels: [], load: null, mbPerS, users, refillUsers: [] };
}

function elementLink({ masters }: Platform, from: string, to: string, busy: ReadonlyMap<string, number | null>): Link {
  // what goes past the tags of a coherence unit has outputs of its own
  const ways = (name: string) => [name, `${name} bypass`];
  const named = [
    ...ways(from).flatMap((way) => FORWARD.map((name) => ({ name, full: `${way} / ${to} ${name}` }))),
    ...ways(to).flatMap((way) => BACK.map((name) => ({ name, full: `${way} / ${from} ${name}` }))),
  ];
  const channels = named.flatMap(({ name, full }) => {
    const share = busy.get(full);
    return share === undefined || share === null ? [] : [{ name, busy: share }];
  });
  const along = (take: (master: PlatformMaster) => readonly string[]) =>
    masters
      .filter((master) => take(master).some((name, i) => name === from && take(master)[i + 1] === to))
      .map(({ name }) => name);
  return {
    from: elementId(from),
    to: elementId(to),
    channels,
    load: busy.size === 0 ? null : Math.max(0, ...channels.map((channel) => channel.busy)),
    mbPerS: null,
    users: along(({ path }) => path),
    refillUsers: along(({ refill }) => refill),
  };
}
