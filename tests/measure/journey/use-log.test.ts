import { describe, expect, it } from 'vitest';
import { Calendar } from '../../../src/engine/calendar.js';
import { Chains } from '../../../src/measure/journey/chains.js';
import { Charges } from '../../../src/measure/journey/charges.js';
import { Part } from '../../../src/measure/journey/stage.js';
import { UseLog } from '../../../src/measure/journey/use-log.js';

/** Logs that share a calendar, the clock of which is set by hand. */
function setUp() {
  const calendar = new Calendar();
  const all: UseLog[] = [];
  return { calendar, log: () => new UseLog(calendar, all) };
}

/** Whom a wait between two instants is charged to by a log, as `culprit@element: until`; 9 at 9 where it names nobody. */
function told(log: UseLog, fromPs: number, untilPs: number): string[] {
  const charges = new Charges();
  charges.start(fromPs);
  log.tell(charges, untilPs, 9, 9);
  const chains = new Chains();
  chains.start(0, fromPs);
  charges.addTo(chains.of(0), Part.arbitration);
  const chain = chains.of(0);
  return Array.from(
    { length: chain.count },
    (_, link) => `${chain.culpritOf(link)}@${chain.elementOf(link)}: ${chain.untilOf(link)}`,
  );
}

describe('UseLog', () => {
  it('names who had the place, from the middle of one use to the middle of another, and nobody in between', () => {
    const log = setUp().log();
    log.add(100, 200, 1, 5, -1);
    log.add(250, 300, 2, 5, -1);
    expect(told(log, 150, 270)).toEqual(['1@5: 200', '9@9: 250', '2@5: 270']);
    expect(told(log, 0, 50)).toEqual(['9@9: 50']);
    expect(told(log, 310, 320)).toEqual(['9@9: 320']);
  });

  it('tells for an entry that refers to another log what that held when the entry was made', () => {
    const { log } = setUp();
    const [queue, lane] = [log(), log()];
    lane.add(0, 40, 1, 5, -1);
    queue.refer(0, 100, lane, null, 3, 6);
    // comes after the entry, and so does not count in it
    lane.add(50, 100, 2, 5, -1);
    expect(told(queue, 10, 100)).toEqual(['1@5: 40', '3@6: 100']);
    expect(told(lane, 10, 100)).toEqual(['1@5: 40', '9@9: 50', '2@5: 100']);
  });

  it('fills what the first log leaves open by the second, as that was before this instant, and goes on through it', () => {
    const { calendar, log } = setUp();
    const [queue, lane, beyond, dram] = [log(), log(), log(), log()];
    dram.add(0, 70, 4, 8, -1);
    dram.add(70, 90, 5, 8, -1);
    beyond.refer(0, 80, dram, null, 6, 7);
    lane.add(20, 30, 1, 5, -1);
    calendar.now = 100;
    beyond.add(80, 95, 7, 7, -1);
    queue.refer(10, 100, lane, beyond, 3, 6);
    expect(told(queue, 10, 100)).toEqual(['4@8: 20', '1@5: 30', '4@8: 70', '5@8: 80', '3@6: 100']);
  });

  it('keeps of what it was not to note the last use alone, which it notes when it is asked to, as from its time', () => {
    const { calendar, log } = setUp();
    const [server, lane] = [log(), log()];
    server.hold(0, 100, 1, 5, -1);
    calendar.now = 100;
    server.hold(100, 300, 2, 5, -1);
    calendar.now = 150;
    server.open();
    server.open();
    lane.resume(120, 200, 120, 3, 6);
    expect(told(server, 50, 350)).toEqual(['9@9: 100', '2@5: 300', '9@9: 350']);
    // known before this instant
    expect([server, lane].map(({ nextEarlier }) => nextEarlier)).toEqual([1, 1]);
    lane.resume(150, 250, 150, 4, 6);
    expect(lane.nextEarlier).toBe(1);
    expect(told(lane, 110, 250)).toEqual(['9@9: 120', '3@6: 200', '4@6: 250']);
  });

  it('grows rather than forget what is young, and keeps all of it in order', () => {
    const { calendar, log } = setUp();
    const uses = log();
    for (let n = 0; n < 1000; n++) {
      calendar.now = 10 * n;
      uses.add(10 * n, 10 * n + 10, n % 7, n % 3, -1);
    }
    for (const n of [0, 63, 64, 511, 512, 999])
      expect(told(uses, 10 * n, 10 * n + 10)).toEqual([`${n % 7}@${n % 3}: ${10 * n + 10}`]);
  });

  it('forgets what is old where many come at long intervals', () => {
    const { calendar, log } = setUp();
    const uses = log();
    for (let n = 0; n < 200; n++) {
      calendar.now = 1e6 * n;
      uses.add(1e6 * n, 1e6 * (n + 1), 1, 1, -1);
    }
    expect([uses.isKept(199), uses.isKept(136), uses.isKept(135)]).toEqual([true, true, false]);
    expect(told(uses, 0, 10)).toEqual(['9@9: 10']);
  });
});
