import * as z from 'zod';
import { budgetSchema, metricSchema } from './budget.js';
import { bufferSchema } from './buffer.js';
import { clockSchema } from './clock.js';
import { coherenceSchema } from './coherence.js';
import { ddrSchema } from './ddr.js';
import { deviceSchema } from './device.js';
import { meta, nameOf } from './fields.js';
import { coresSchema, masterSchema } from './master.js';
import { onChipSchema } from './on-chip.js';
import { placeSchema } from './place.js';
import { portSchema } from './port.js';
import { runSchema } from './run.js';
import { switchSchema } from './switch.js';
import { taskSchema } from './task.js';

const named = <T extends z.ZodType>(of: string, about: string, entry: T): z.ZodRecord<z.ZodString, T> =>
  z.record(z.string(), entry).meta({ ...meta(about, `mapping by name of ${of}`, '', '') });

/** A memory by its kind. */
export const memorySchema = z.discriminatedUnion('kind', [ddrSchema, onChipSchema]);

/** The chip. */
export const platformSchema = z
  .strictObject({
    preset: nameOf(
      'a platform preset',
      'A shipped platform; the other keys of platform are laid over it.',
      'quad-core-fabric',
      'none',
    ).optional(),
    clocks: named('a clock', 'Clocks.', clockSchema).optional(),
    ports: named('a port', 'Where masters enter.', portSchema).optional(),
    switches: named('a switch', 'Crossbars.', switchSchema).optional(),
    coherence: named('a unit', 'Coherence units, each with a shared L2.', coherenceSchema).optional(),
    memories: named('a memory', 'Memories.', memorySchema).optional(),
    devices: named('a device', 'Slaves with a service time.', deviceSchema).optional(),
    cores: coresSchema
      .meta({ ...meta('What masters with `core: yes` take where they say nothing.', 'mapping', '', '') })
      .optional(),
  })
  .meta({ ...meta('The chip: a preset, wholly or partly overridden, or written out.', 'mapping', '', '') });

const title = z
  .string({ error: 'must be text' })
  .meta({
    ...meta(
      'What the scenario answers, in a sentence.',
      'text',
      '',
      'Where should the classifier attach?',
      'the name of the file',
    ),
  })
  .optional();

const buffers = named('a buffer', 'Named address ranges.', bufferSchema);
const masters = named('a master', 'Who wants what.', masterSchema);
const tasks = named('a task', 'Work that crosses masters.', taskSchema);
const budgets = named('a budget', 'What the system must keep to; judged after a run.', budgetSchema);
const run = runSchema.meta({ ...meta('How it is simulated.', 'mapping', '', '') });

/** Masters that a placement moves. */
export const attachSchema = z
  .record(z.string(), z.string({ error: 'must be the name of a port, coherence unit or device' }))
  .meta({
    ...meta(
      'Moves every master of a group, or the master of that name.',
      'mapping of groups or masters to elements',
      '',
      '{classifier: fabric0}',
    ),
  });

/** A system that is laid over the rest of the file. */
export const placementSchema = z
  .strictObject({
    attach: attachSchema.optional(),
    platform: platformSchema.optional(),
    buffers: buffers.optional(),
    masters: masters.optional(),
    tasks: tasks.optional(),
    budgets: budgets.optional(),
    run: run.optional(),
  })
  .meta({
    ...meta('A system of its own: what it says is laid over the rest of the file, name by name.', 'mapping', '', ''),
  });

/** The whole of a scenario file. */
export const fileSchema = z.strictObject({
  title,
  platform: platformSchema,
  buffers,
  masters,
  tasks: tasks.optional(),
  budgets: budgets.optional(),
  compare: named(
    'a metric',
    'What `compare` looks at; without it: mean and p99 of the burst latency, and the bandwidth, of every path.',
    metricSchema,
  ).optional(),
  place: placeSchema
    .meta({
      ...meta('What `place` tries, and what it calls the best.', 'mapping', '', ''),
    })
    .optional(),
  run: run.prefault({}),
  placements: z
    .record(z.string(), placementSchema)
    .meta({
      ...meta('Systems to compare. Without it there is one, named base.', 'mapping by name of a placement', '', ''),
    })
    .optional(),
});
