/** Places boxes and links by layers, from masters at the left to memories at the right. */
import type { ElkExtendedEdge, ElkNode } from 'elkjs';
import type { Box, Diagram, Link } from './diagram.js';

export interface Placed {
  readonly width: number;
  readonly height: number;
  readonly boxes: readonly {
    readonly box: Box;
    readonly x: number;
    readonly y: number;
    readonly width: number;
    readonly height: number;
  }[];
  readonly links: readonly {
    readonly link: Link;
    readonly points: readonly { readonly x: number; readonly y: number }[];
    /** Centre of its figure; null where it has none. */
    readonly label: { readonly x: number; readonly y: number } | null;
  }[];
}

/** Width of a character of the diagram's type, and the height of a line of masters. */
const CHARACTER = 6.9;
export const LINE = 20;
export const PAD = 8;
const BOX_HEIGHT = 58;

const OPTIONS = {
  'elk.algorithm': 'layered',
  'elk.direction': 'RIGHT',
  'elk.edgeRouting': 'ORTHOGONAL',
  // the order of the scenario from top to bottom, so that the placements of one platform look alike
  'elk.layered.considerModelOrder.strategy': 'NODES_AND_EDGES',
  'elk.layered.crossingMinimization.forceNodeModelOrder': 'true',
  'elk.separateConnectedComponents': 'false',
  'elk.partitioning.activate': 'true',
  'elk.layered.spacing.nodeNodeBetweenLayers': '30',
  'elk.layered.spacing.edgeNodeBetweenLayers': '16',
  'elk.spacing.nodeNode': '16',
  'elk.spacing.edgeNode': '14',
  'elk.spacing.edgeEdge': '10',
  'elk.layered.spacing.edgeEdgeBetweenLayers': '10',
  'elk.padding': '[top=6,left=6,bottom=6,right=6]',
  'elk.layered.nodePlacement.strategy': 'NETWORK_SIMPLEX',
  'elk.randomSeed': '1',
};

/** The figure that a link carries; empty where it carries nothing. */
export type LabelOf = (link: Link) => string;

export async function placed({ boxes, links }: Diagram, labelOf: LabelOf): Promise<Placed> {
  const { default: Elk } = await import('elkjs');
  // by number, since names may be anything
  const numbers = new Map(boxes.map((box, i) => [box.id, `n${i}`]));
  const graph: ElkNode = await new Elk.default().layout({
    id: 'platform',
    layoutOptions: OPTIONS,
    children: boxes.map((box, i) => ({
      id: `n${i}`,
      ...sizeOf(box),
      layoutOptions: {
        'elk.partitioning.partition': String(columnOf(box)),
        ...(columnOf(box) === 3 ? { 'elk.layered.layering.layerConstraint': 'LAST' } : {}),
      },
    })),
    edges: links.map((link, i) => edge(link, `e${i}`, numbers, labelOf(link))),
  });
  return {
    width: Math.ceil(graph.width!),
    height: Math.ceil(graph.height!),
    boxes: boxes.map((box, i) => boxAt(box, graph.children![i]!)),
    links: links.map((link, i) => linkAt(link, graph.edges![i]!)),
  };
}

/** Columns that keep their order: masters, ports, what is between, memories and devices. */
function columnOf({ element }: Box): number {
  if (element === null) return 0;
  if (element.to.length === 0) return 3;
  return element.kind === 'port' ? 1 : 2;
}

function sizeOf({ element, masters }: Box): { width: number; height: number } {
  if (element !== null) {
    const words = [element.name, boxSubtitle(element)].map((text) => text.length * CHARACTER);
    return { width: Math.max(112, ...words) + 2 * PAD, height: BOX_HEIGHT };
  }
  const names = masters.map(({ name, mbPerS }) => (name.length + (mbPerS === null ? 0 : 12)) * CHARACTER);
  return { width: Math.max(...names) + 2 * PAD + 6, height: masters.length * LINE + PAD };
}

/** `switch, 128 bit, 400 MHz`. */
export function boxSubtitle({ kind, width_bits, clock_mhz }: NonNullable<Box['element']>): string {
  return [kind, `${width_bits} bit`, ...(clock_mhz === null ? [] : [`${Number(clock_mhz.toFixed(1))} MHz`])].join(', ');
}

function edge(link: Link, id: string, numbers: ReadonlyMap<string, string>, label: string): ElkExtendedEdge {
  const labels =
    label === ''
      ? []
      : [
          {
            text: label,
            width: label.length * CHARACTER + 6,
            height: 16,
            layoutOptions: { 'elk.edgeLabels.inline': 'true' },
          },
        ];
  return { id, sources: [numbers.get(link.from)!], targets: [numbers.get(link.to)!], labels };
}

const boxAt = (box: Box, node: ElkNode) => ({ box, x: node.x!, y: node.y!, width: node.width!, height: node.height! });

function linkAt(link: Link, { sections, labels }: ElkExtendedEdge): Placed['links'][number] {
  const { startPoint, endPoint, bendPoints = [] } = sections![0]!;
  const [label] = labels ?? [];
  return {
    link,
    points: [startPoint, ...bendPoints, endPoint].map(({ x, y }) => ({ x, y })),
    label: label === undefined ? null : { x: label.x! + label.width! / 2, y: label.y! + label.height! / 2 },
  };
}
