// The steps of pipeline.ts with Eigen: pipeline FOLDER reads log.csv and track.csv, writes cpp.csv
// and prints JSON: seconds of processor time of each part.
#include <Eigen/Geometry>
#include <charconv>
#include <cmath>
#include <cstdio>
#include <ctime>
#include <string>
#include <vector>

using Eigen::ArrayXd;
using Eigen::Quaterniond;
using Eigen::Vector3d;
using Eigen::VectorXd;
using Numbers = std::vector<double>;
using Quaternions = std::vector<Quaterniond, Eigen::aligned_allocator<Quaterniond>>;

static double before = 0;

static void done(const char *part, bool last = false) {
  timespec now;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
  const double seconds = now.tv_sec + 1e-9 * now.tv_nsec;
  std::printf("%s\"%s\": %.6f%s", before == 0 ? "{ " : ", ", part, seconds - before,
              last ? " }\n" : "");
  before = seconds;
}

// All numbers of a table below its header, row by row.
static Numbers readTable(const std::string &path, size_t columns) {
  FILE *file = std::fopen(path.c_str(), "rb");
  if (!file) std::exit((std::fprintf(stderr, "no %s\n", path.c_str()), 2));
  std::fseek(file, 0, SEEK_END);
  std::string text(std::ftell(file), '\0');
  std::rewind(file);
  if (std::fread(text.data(), 1, text.size(), file) != text.size()) std::exit(2);
  std::fclose(file);
  const char *at = text.data() + text.find('\n') + 1;
  const char *end = text.data() + text.size();
  Numbers out;
  out.reserve(text.size() / 8);
  while (at < end) {
    double value;
    const auto [next, error] = std::from_chars(at, end, value);
    if (error != std::errc()) std::exit((std::fprintf(stderr, "no number in a cell\n"), 2));
    out.push_back(value);
    at = next + 1;
  }
  if (out.size() % columns != 0) std::exit((std::fprintf(stderr, "rows of unequal length\n"), 2));
  return out;
}

static Quaterniond exponential(const Vector3d &v) {
  const double angle = v.norm();
  if (angle == 0) return Quaterniond::Identity();
  return Quaterniond(Eigen::AngleAxisd(angle, v / angle));
}

static void alignSigns(Quaternions &list) {
  Quaterniond previous = Quaterniond::Identity();
  for (Quaterniond &q : list) {
    if (previous.dot(q) < 0) q.coeffs() = -q.coeffs();
    previous = q;
  }
}

// A Gaussian mean; beyond the ends the signal is held or point-mirrored.
static VectorXd gaussianMean(const VectorXd &signal, double deviation, bool mirrored) {
  const long half = std::ceil(4 * deviation), n = signal.size();
  VectorXd kernel(2 * half + 1);
  for (long i = 0; i < kernel.size(); i++)
    kernel[i] = std::exp(-0.5 * std::pow((i - half) / deviation, 2));
  kernel /= kernel.sum();
  VectorXd padded(n + 2 * half);
  padded.segment(half, n) = signal;
  for (long k = 1; k <= half; k++) {
    padded[half - k] = mirrored ? 2 * signal[0] - signal[k] : signal[0];
    padded[half + n - 1 + k] = mirrored ? 2 * signal[n - 1] - signal[n - 1 - k] : signal[n - 1];
  }
  VectorXd out(n);
  for (long k = 0; k < n; k++) out[k] = kernel.dot(padded.segment(k, kernel.size()));
  return out;
}

static void unwrap(VectorXd &angles) {
  for (long k = 1; k < angles.size(); k++)
    angles[k] -= 2 * M_PI * std::round((angles[k] - angles[k - 1]) / (2 * M_PI));
}

int main(int, char **arguments) {
  const std::string folder = arguments[1];
  done("start");

  Numbers logTimes;
  std::vector<Vector3d> rate, force;
  {
    const Numbers table = readTable(folder + "/log.csv", 7);
    logTimes.reserve(table.size() / 7);
    rate.reserve(table.size() / 7);
    force.reserve(table.size() / 7);
    for (size_t i = 0; i < table.size(); i += 7) {
      logTimes.push_back(table[i]);
      rate.emplace_back(table[i + 1], table[i + 2], table[i + 3]);
      force.emplace_back(table[i + 4], table[i + 5], table[i + 6]);
    }
  }
  done("read the log");

  Numbers times, frames;
  Quaternions track;
  {
    const Numbers table = readTable(folder + "/track.csv", 6);
    for (size_t i = 0; i < table.size(); i += 6) {
      frames.push_back(table[i]);
      times.push_back(table[i + 1]);
      track.push_back(
          Quaterniond(table[i + 5], table[i + 2], table[i + 3], table[i + 4]).normalized());
    }
  }
  alignSigns(track);
  done("read the track");

  Quaternions path(logTimes.size());
  path[0] = Quaterniond::Identity();
  for (size_t k = 0; k + 1 < path.size(); k++) {
    const double h = logTimes[k + 1] - logTimes[k];
    const Vector3d step = h * rate[k + 1];
    const Vector3d coning = (h * rate[k]).cross(step) / 12;
    path[k + 1] = (path[k] * exponential(step + coning)).normalized();
  }
  done("integrate");

  const long n = times.size();
  Quaternions atFrames(n);
  size_t k = 0;
  for (long m = 0; m < n; m++) {
    while (k + 2 < logTimes.size() && logTimes[k + 1] <= times[m]) k++;
    const double share = (times[m] - logTimes[k]) / (logTimes[k + 1] - logTimes[k]);
    atFrames[m] = path[k].slerp(std::min(std::max(share, 0.0), 1.0), path[k + 1]);
  }
  alignSigns(atFrames);
  done("interpolate");

  const double frameRate = 60000.0 / 1001;
  Quaternions error(n), fused(n);
  for (long m = 0; m < n; m++) error[m] = track[m] * atFrames[m].conjugate();
  alignSigns(error);
  VectorXd component(n);
  Quaternions smoothed(n);
  for (int c = 0; c < 4; c++) {
    for (long m = 0; m < n; m++) component[m] = error[m].coeffs()[c];
    const VectorXd mean = gaussianMean(component, frameRate, false);
    for (long m = 0; m < n; m++) smoothed[m].coeffs()[c] = mean[m];
  }
  for (long m = 0; m < n; m++) fused[m] = smoothed[m].normalized() * atFrames[m];
  done("fuse");

  VectorXd heading(n), tilt(n);
  for (long m = 0; m < n; m++) {
    const Eigen::Matrix3d R = fused[m].toRotationMatrix();
    heading[m] = std::atan2(R(0, 2), R(2, 2));
    tilt[m] = std::atan2(-R(1, 2), std::sqrt(R(0, 2) * R(0, 2) + R(2, 2) * R(2, 2)));
  }
  unwrap(heading);
  const double deviation = std::sqrt(2 * std::log(2.0)) / (2 * M_PI * 0.5) * frameRate;
  const VectorXd smoothHeading = gaussianMean(heading, deviation, true);
  const VectorXd smoothTilt = gaussianMean(tilt, deviation, true);
  Quaternions intended(n);
  for (long m = 0; m < n; m++) {
    intended[m] = Eigen::AngleAxisd(smoothHeading[m], Vector3d::UnitY()) *
                  Eigen::AngleAxisd(smoothTilt[m], Vector3d::UnitX());
  }
  done("smooth");

  Quaternions corrections(n);
  for (long m = 0; m < n; m++) corrections[m] = intended[m].conjugate() * fused[m];
  alignSigns(corrections);
  done("correct");

  std::string text = "frame,time_s,x,y,z,w\n";
  char cell[64];
  const auto write = [&](double value, int decimals, char after) {
    const auto form = std::chars_format::fixed;
    text.append(cell, std::to_chars(cell, cell + sizeof cell, value, form, decimals).ptr);
    text.push_back(after);
  };
  for (long m = 0; m < n; m++) {
    write(frames[m], 0, ',');
    write(times[m], 9, ',');
    for (int c = 0; c < 4; c++) write(corrections[m].coeffs()[c], 12, c < 3 ? ',' : '\n');
  }
  FILE *out = std::fopen((folder + "/cpp.csv").c_str(), "wb");
  std::fwrite(text.data(), 1, text.size(), out);
  std::fclose(out);
  done("write", true);
}
