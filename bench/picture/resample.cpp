// The same map, filter and whole-number sums as src/picture/resampleCells.ts in a plain loop:
// no vector instructions by hand. Reads the planes of one frame from a file, prints processor
// milliseconds per frame and a sum to compare.
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <ctime>
#include <vector>

struct Plane {
  int64_t count, stride, rows, width, height, stepX, stepY;
  std::vector<double> records;
  std::vector<uint16_t> words;
  std::vector<uint8_t> bytes;
};

constexpr int RECORD = 28;
static int16_t across[1024 * 4], down[1024 * 4];

template <typename T>
static void resample(const Plane& plane, const T* source, T* out, int bits) {
  const double to1024ths = 1.5 * 4398046511104.0;
  const int mostX = plane.stride - 4, mostY = plane.rows - 4;
  const int half = 1 << (bits - 1), round = 1 << (27 - bits), shift = 28 - bits;
  const int most = (1 << bits) - 1;
  for (int64_t c = 0; c < plane.count; c++) {
    const double* r = &plane.records[c * RECORD];
    const int width = r[2], height = r[3];
    double v = r[5];
    for (int j = 0; j < height; j++, v += plane.stepY) {
      const double ax = r[6] + v * (r[12] + v * r[18]), ay = r[7] + v * (r[13] + v * r[19]);
      const double bx = r[8] + v * (r[14] + v * r[20]), by = r[9] + v * (r[15] + v * r[21]);
      const double dx = r[10] + v * (r[16] + v * r[22]), dy = r[11] + v * (r[17] + v * r[23]);
      double u = r[4];
      T* to = out + (int64_t(r[1]) + j) * plane.width + int64_t(r[0]);
      for (int i = 0; i < width; i++, u += plane.stepX) {
        const int x = (ax + u * (bx + u * dx) + to1024ths - to1024ths) * 1024;
        const int y = (ay + u * (by + u * dy) + to1024ths - to1024ths) * 1024;
        const int column = std::max(0, std::min(mostX, (x >> 10) - 1));
        const int row = std::max(0, std::min(mostY, (y >> 10) - 1));
        const int16_t* wx = across + 4 * (x & 1023);
        const int16_t* wy = down + 4 * (y & 1023);
        const T* from = source + row * plane.stride + column;
        int sum = 0;
        for (int t = 0; t < 4; t++, from += plane.stride) {
          const int line = ((from[0] * wx[0] + from[1] * wx[1] + half) >> bits) +
                           ((from[2] * wx[2] + from[3] * wx[3] + half) >> bits);
          sum += line * wy[t];
        }
        to[i] = std::max(0, std::min(most, (sum + round) >> shift));
      }
    }
  }
}

int main(int, char** argv) {
  FILE* file = std::fopen(argv[1], "rb");
  int64_t head[3];
  if (!file || std::fread(head, 8, 3, file) != 3) return 1;
  const int planes = head[0], bits = head[1], rounds = head[2];
  if (std::fread(across, 2, 4096, file) != 4096) return 1;
  std::copy(across, across + 4096, down);
  std::vector<Plane> all(planes);
  for (Plane& plane : all) {
    if (std::fread(&plane, 8, 7, file) != 7) return 1;
    plane.records.resize(plane.count * RECORD);
    if (std::fread(plane.records.data(), 8, plane.records.size(), file) != plane.records.size()) return 1;
    const size_t samples = plane.stride * plane.rows;
    if (bits == 8) {
      plane.bytes.resize(samples);
      if (std::fread(plane.bytes.data(), 1, samples, file) != samples) return 1;
    } else {
      plane.words.resize(samples);
      if (std::fread(plane.words.data(), 2, samples, file) != samples) return 1;
    }
  }
  std::vector<uint8_t> bytes(all[0].width * all[0].height);
  std::vector<uint16_t> words(bits == 8 ? 0 : bytes.size());
  double best = 1e300;
  uint64_t sum = 0;
  for (int round = 0; round < rounds; round++) {
    sum = 0;
    double spent = 0;
    for (const Plane& plane : all) {
      std::fill(bytes.begin(), bytes.end(), 0);
      std::fill(words.begin(), words.end(), 0);
      const clock_t before = std::clock();
      if (bits == 8) resample(plane, plane.bytes.data(), bytes.data(), bits);
      else resample(plane, plane.words.data(), words.data(), bits);
      spent += std::clock() - before;
      for (int64_t i = 0; i < plane.width * plane.height; i++) sum += bits == 8 ? bytes[i] : words[i];
    }
    best = std::min(best, spent * 1000 / CLOCKS_PER_SEC);
  }
  std::printf("%.1f %llu\n", best, (unsigned long long)sum);
}
