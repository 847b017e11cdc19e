// The hold model: pop the earliest event, push it back later. Reads increments and the number of pending events as the
// TypeScript of yardstick.ts does, and prints nanoseconds per hold and a checksum of the order.
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <queue>
#include <vector>

struct Event {
  double time;
  uint64_t sequence;
  int32_t id;
};

struct Later {
  bool operator()(const Event& a, const Event& b) const {
    return a.time != b.time ? a.time > b.time : a.sequence > b.sequence;
  }
};

int main(int argc, char** argv) {
  if (argc != 5) return 2;
  const int pending = std::atoi(argv[2]);
  const long holds = std::atol(argv[3]);
  const int rounds = std::atoi(argv[4]);
  std::ifstream file(argv[1], std::ios::binary | std::ios::ate);
  std::vector<double> increments(static_cast<size_t>(file.tellg()) / sizeof(double));
  file.seekg(0);
  file.read(reinterpret_cast<char*>(increments.data()), static_cast<std::streamsize>(increments.size() * sizeof(double)));
  const size_t mask = increments.size() - 1;
  double best = 1e300;
  uint32_t checksum = 0;
  for (int round = 0; round <= rounds; round++) {
    std::priority_queue<Event, std::vector<Event>, Later> queue;
    size_t next = 0;
    uint64_t sequence = 0;
    for (int id = 0; id < pending; id++) queue.push({increments[next++ & mask], sequence++, id});
    checksum = 0;
    const auto start = std::chrono::steady_clock::now();
    for (long hold = 0; hold < holds; hold++) {
      Event event = queue.top();
      queue.pop();
      checksum = checksum * 31u + static_cast<uint32_t>(event.id);
      queue.push({event.time + increments[next++ & mask], sequence++, event.id});
    }
    const double ns = std::chrono::duration<double, std::nano>(std::chrono::steady_clock::now() - start).count();
    if (round > 0 && ns < best) best = ns;
  }
  std::printf("{\"ns\":%.3f,\"checksum\":%u}\n", best / static_cast<double>(holds), checksum);
  return 0;
}
