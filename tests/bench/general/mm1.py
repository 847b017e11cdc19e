"""M/M/1 on SimPy, a general-purpose simulation library: `python3 mm1.py CUSTOMERS` prints seconds and mean time in system.

Utilisation 1/1.1, the queue's length monitored. Version 3 and later of the library is used where it is there, else version 2.
"""
import json
import random
import sys
import time

CUSTOMERS = int(sys.argv[1])
BETWEEN, SERVICE = 110.0, 100.0


def with_three(simpy):
    env = simpy.Environment()
    server = simpy.Resource(env, capacity=1)
    draw = random.Random(1)
    total = 0.0
    lengths = []

    def customer():
        nonlocal total
        arrived = env.now
        lengths.append((env.now, len(server.queue)))
        with server.request() as turn:
            yield turn
            lengths.append((env.now, len(server.queue)))
            yield env.timeout(draw.expovariate(1 / SERVICE))
        total += env.now - arrived

    def source():
        for _ in range(CUSTOMERS):
            yield env.timeout(draw.expovariate(1 / BETWEEN))
            env.process(customer())

    env.process(source())
    start = time.perf_counter()
    env.run()
    return time.perf_counter() - start, total / CUSTOMERS


def with_two(library):
    draw = random.Random(1)
    total = [0.0]
    server = library.Resource(capacity=1, monitored=True, monitorType=library.Monitor)

    class Customer(library.Process):
        def visit(self):
            arrived = library.now()
            yield library.request, self, server
            yield library.hold, self, draw.expovariate(1 / SERVICE)
            yield library.release, self, server
            total[0] += library.now() - arrived

    class Source(library.Process):
        def work(self):
            for _ in range(CUSTOMERS):
                yield library.hold, self, draw.expovariate(1 / BETWEEN)
                customer = Customer()
                library.activate(customer, customer.visit())

    library.initialize()
    source = Source()
    library.activate(source, source.work())
    start = time.perf_counter()
    library.simulate(until=1e18)
    return time.perf_counter() - start, total[0] / CUSTOMERS


def measure():
    try:
        import simpy

        return simpy.__version__, with_three(simpy)
    except ImportError:
        import SimPy
        import SimPy.Simulation

        return SimPy.__version__, with_two(SimPy.Simulation)


version, (seconds, mean) = measure()
print(json.dumps({"version": version, "seconds": seconds, "mean": mean}))
