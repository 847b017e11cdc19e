/**
 * The hold model on our event list: `node hold.mjs INCREMENTS PENDING HOLDS ROUNDS` prints nanoseconds per hold and a
 * checksum of the order, as hold.cpp does.
 */
import { readFileSync } from 'node:fs';
import { Calendar } from '../../../dist/index.js';

const [file, pending, holds, rounds] = process.argv.slice(2);
const bytes = readFileSync(file);
const increments = new Float64Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 8);
const mask = increments.length - 1;

/** All pending events: each, once due, is put off by the next increment. */
class Holder {
  checksum = 0;
  left = Number(holds);
  next = 0;
  carriers = [];

  constructor(calendar) {
    this.calendar = calendar;
    for (let id = 0; id < Number(pending); id++) {
      this.carriers.push(calendar.carrier(this, id, 0));
      calendar.arm(this.carriers[id], increments[this.next++ & mask]);
    }
  }

  wake(id) {
    const { calendar } = this;
    this.checksum = (Math.imul(this.checksum, 31) + id) | 0;
    calendar.arm(this.carriers[id], calendar.now + increments[this.next++ & mask]);
    if (--this.left === 0) calendar.stop();
  }
}

let best = Infinity;
let checksum = 0;
for (let round = 0; round <= Number(rounds); round++) {
  const calendar = new Calendar();
  const holder = new Holder(calendar);
  const start = performance.now();
  calendar.run(Infinity);
  const ns = (performance.now() - start) * 1e6;
  checksum = holder.checksum >>> 0;
  if (round > 0) best = Math.min(best, ns);
}
process.stdout.write(JSON.stringify({ ns: best / Number(holds), checksum }));
