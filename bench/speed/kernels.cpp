// The operations of kernels.ts with Eigen, and the banded solver in plain loops.
// kernels FOLDER reads the seeded arrays (float64) and prints JSON: nanoseconds of processor time
// per element, the least of several runs, and a checksum of each result.
#include <Eigen/Geometry>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <functional>
#include <string>
#include <vector>

using Eigen::AngleAxisd;
using Eigen::Quaterniond;
using Eigen::Vector3d;
using Numbers = std::vector<double>;
using Quaternions = std::vector<Quaterniond, Eigen::aligned_allocator<Quaterniond>>;
using Vectors = std::vector<Vector3d>;

static std::string folder;

template <typename T, typename A = std::allocator<T>>
static std::vector<T, A> load(const char *name) {
  FILE *file = std::fopen((folder + "/" + name + ".f64").c_str(), "rb");
  if (!file) std::exit((std::fprintf(stderr, "no %s in %s\n", name, folder.c_str()), 2));
  std::fseek(file, 0, SEEK_END);
  std::vector<T, A> out(std::ftell(file) / sizeof(T));
  std::rewind(file);
  if (std::fread(static_cast<void *>(out.data()), sizeof(T), out.size(), file) != out.size())
    std::exit(2);
  std::fclose(file);
  return out;
}

static Quaternions loadQuaternions(const char *name) {
  return load<Quaterniond, Eigen::aligned_allocator<Quaterniond>>(name);
}

static double processorSeconds() {
  timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  return now.tv_sec + 1e-9 * now.tv_nsec;
}

// Numbers weighted 1 to 7 in turn, so that an exchange shows; Neumaier's sum, so that the order of
// adding does not.
static double checksum(const double *values, size_t count) {
  double sum = 0, lost = 0;
  for (size_t i = 0; i < count; i++) {
    const double term = values[i] * (1 + i % 7);
    const double next = sum + term;
    lost += std::abs(sum) >= std::abs(term) ? (sum - next) + term : (term - next) + sum;
    sum = next;
  }
  return sum + lost;
}

static bool first = true;

// Each run makes its result anew, as the library's functions do; freeing it counts too.
template <typename Result>
static void measure(const char *name, size_t elements, int runs, std::function<Result()> work,
                    std::function<void(Result &)> finish = nullptr) {
  double least = 1e300;
  for (int run = 0; run < runs; run++) {
    const double start = processorSeconds();
    { const Result result = work(); }
    least = std::min(least, processorSeconds() - start);
  }
  Result result = work();
  if (finish) finish(result);
  const size_t count = result.size() * sizeof(result[0]) / sizeof(double);
  std::printf("%s\n  \"%s\": { \"nanoseconds\": %.4f, \"checksum\": %.17g }", first ? "{" : ",",
              name, 1e9 * least / elements,
              checksum(reinterpret_cast<const double *>(result.data()), count));
  first = false;
}

// The same with a place for the result handed in.
template <typename Result>
static void measureInto(const char *name, size_t elements, int runs, Result &out,
                        std::function<void()> work) {
  double least = 1e300;
  for (int run = 0; run < runs; run++) {
    const double start = processorSeconds();
    work();
    least = std::min(least, processorSeconds() - start);
  }
  const size_t count = out.size() * sizeof(out[0]) / sizeof(double);
  std::printf(",\n  \"%s\": { \"nanoseconds\": %.4f, \"checksum\": %.17g }", name,
              1e9 * least / elements, checksum(reinterpret_cast<const double *>(out.data()), count));
}

static Quaterniond exponential(const Vector3d &v) {
  const double angle = v.norm();
  if (angle == 0) return Quaterniond::Identity();
  return Quaterniond(AngleAxisd(angle, v / angle));
}

static Vector3d logarithm(const Quaterniond &q) {
  const AngleAxisd turn(q);
  return turn.angle() * turn.axis();
}

// The rates are means over the interval that ends at each time; second-order coning correction.
static Quaternions integrate(const Numbers &times, const Vectors &rate) {
  Quaternions out(times.size());
  Quaterniond q = Quaterniond::Identity();
  out[0] = q;
  for (size_t k = 0; k + 1 < times.size(); k++) {
    const double h = times[k + 1] - times[k];
    const Vector3d before = h * rate[k];
    const Vector3d step = h * rate[k + 1];
    q = (q * exponential(step + before.cross(step) / 12)).normalized();
    out[k + 1] = q;
  }
  return out;
}

static Quaternions resample(const Numbers &times, const Quaternions &keys, const Numbers &at) {
  Quaternions out(at.size());
  size_t k = 0;
  for (size_t m = 0; m < at.size(); m++) {
    while (k + 2 < times.size() && times[k + 1] <= at[m]) k++;
    const double share = (at[m] - times[k]) / (times[k + 1] - times[k]);
    out[m] = keys[k].slerp(std::min(std::max(share, 0.0), 1.0), keys[k + 1]);
  }
  return out;
}

// Eigen gives the heading from 0 to 180 degrees; the same turn with the tilt within 90 degrees.
static void withinQuarterTurn(Vectors &angles) {
  for (Vector3d &a : angles) {
    if (std::abs(a[1]) <= M_PI / 2) continue;
    a[0] += a[0] > 0 ? -M_PI : M_PI;
    a[1] = (a[1] > 0 ? M_PI : -M_PI) - a[1];
    a[2] += a[2] > 0 ? -M_PI : M_PI;
  }
}

// L D L' of a symmetric band, row by row, then each right side; the width is known to the compiler.
template <int P>
static Numbers solveBanded(const Numbers &matrix, const Numbers &sides, size_t n) {
  Numbers band = matrix;
  Numbers out = sides;
  constexpr int S = P + 1;
  for (size_t i = 0; i < n; i++) {
    double *row = &band[i * S];
    const int reach = i < P ? i : P;
    double diagonal = row[0];
    for (int d = reach; d > 0; d--) {
      const double *other = &band[(i - d) * S];
      double sum = row[d];
      for (int e = reach; e > d; e--) sum -= row[e] * other[e - d];
      row[d] = sum;
    }
    for (int d = reach; d > 0; d--) {
      const double l = row[d] / band[(i - d) * S];
      diagonal -= l * row[d];
      row[d] = l;
    }
    row[0] = diagonal;
  }
  for (double *b = out.data(); b < out.data() + out.size(); b += n) {
    for (size_t i = 0; i < n; i++) {
      double sum = b[i];
      const int reach = i < P ? i : P;
      for (int d = reach; d > 0; d--) sum -= band[i * S + d] * b[i - d];
      b[i] = sum;
    }
    for (size_t i = 0; i < n; i++) b[i] /= band[i * S];
    for (size_t i = n; i-- > 0;) {
      const double value = b[i];
      const int reach = i < P ? i : P;
      for (int d = reach; d > 0; d--) b[i - d] -= band[i * S + d] * value;
    }
  }
  return out;
}

int main(int, char **arguments) {
  folder = arguments[1];
  const Quaternions a = loadQuaternions("a"), b = loadQuaternions("b");
  const Quaternions track = loadQuaternions("track");
  const Vectors vectors = load<Vector3d>("vectors"), rate = load<Vector3d>("rate");
  const Numbers times = load<double>("times"), frames = load<double>("frames");
  const Numbers sides = load<double>("sides");
  const size_t n = a.size(), size = sides.size() / 3;

  measure<Quaternions>("compose", n, 9, [&] {
    Quaternions out(n);
    for (size_t k = 0; k < n; k++) out[k] = a[k] * b[k];
    return out;
  });
  measure<Vectors>("rotate", n, 9, [&] {
    Vectors out(n);
    for (size_t k = 0; k < n; k++) out[k] = a[k] * vectors[k];
    return out;
  });
  Quaternions composed(n);
  measureInto("compose, place given", n, 9, composed, [&] {
    for (size_t k = 0; k < n; k++) composed[k] = a[k] * b[k];
  });
  Vectors rotated(n);
  measureInto("rotate, place given", n, 9, rotated, [&] {
    for (size_t k = 0; k < n; k++) rotated[k] = a[k] * vectors[k];
  });
  measure<Vectors>("logarithm", n, 5, [&] {
    Vectors out(n);
    for (size_t k = 0; k < n; k++) out[k] = logarithm(a[k]);
    return out;
  });
  measure<Quaternions>("exponential", n, 5, [&] {
    Quaternions out(n);
    for (size_t k = 0; k < n; k++) out[k] = exponential(vectors[k]);
    return out;
  });
  measure<Quaternions>("integrate", n, 5, [&] { return integrate(times, rate); });
  measure<Quaternions>("slerp", frames.size(), 9, [&] { return resample(times, track, frames); });
  measure<Vectors>(
      "heading, tilt, roll", n, 5,
      [&] {
        Vectors out(n);
        for (size_t k = 0; k < n; k++) out[k] = track[k].toRotationMatrix().eulerAngles(1, 0, 2);
        return out;
      },
      withinQuarterTurn);
  measure<Vectors>("heading, tilt, roll, written out", n, 5, [&] {
    Vectors out(n);
    for (size_t k = 0; k < n; k++) {
      const Eigen::Matrix3d R = track[k].toRotationMatrix();
      out[k] = Vector3d(std::atan2(R(0, 2), R(2, 2)),
                        std::atan2(-R(1, 2), std::sqrt(R(0, 2) * R(0, 2) + R(2, 2) * R(2, 2))),
                        std::atan2(R(1, 0), R(1, 1)));
    }
    return out;
  });
  const Numbers band2 = load<double>("band2"), band3 = load<double>("band3");
  measure<Numbers>("banded, width 2", size, 9, [&] { return solveBanded<2>(band2, sides, size); });
  measure<Numbers>("banded, width 3", size, 9, [&] { return solveBanded<3>(band3, sides, size); });
  std::puts("\n}");
}
