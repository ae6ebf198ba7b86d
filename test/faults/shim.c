/*
 * Stands between Node and the C library and makes the N-th call on files below a folder fail.
 * Loaded by LD_PRELOAD; what to do is read from the environment at every call, so that one process
 * can be given one fault after another:
 *
 *   FAULT_BELOW   only paths that start with this and relative ones count, and descriptors opened by
 *                 such paths; none while it is empty
 *   FAULT_ROUND   any text; when it changes, counting starts again
 *   FAULT_AT      which call fails, from 1; 0 for none
 *   FAULT_STAYS   1: every call from then on that changes something fails too
 *   FAULT_KIND    an errno as a number, "short" (one byte is read or written) or "kill"
 *   FAULT_LOG     a file to which every call is added: its name, a blank, its path
 *   FAULT_CALLS   only these calls count, such as ",rename,write,"; all when left out
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

#define MOST 4096
static char *paths[MOST];
static char round_now[64];
static long counted;
static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;

static const char *setting(const char *name) {
  const char *value = getenv(name);
  return value ? value : "";
}

static int counts(const char *path) {
  const char *below = setting("FAULT_BELOW");
  return *below && path && *path && (*path != '/' || strncmp(path, below, strlen(below)) == 0);
}

static const char *path_of(int fd) { return fd >= 0 && fd < MOST ? paths[fd] : NULL; }

enum { NOTHING, SHORT, FAIL };

/* What is to become of a call; errno is set where it fails. */
static int fate(const char *call, const char *path, int changes) {
  if (!counts(path)) return NOTHING;
  const char *calls = setting("FAULT_CALLS");
  char name[32];
  snprintf(name, sizeof name, ",%s,", call);
  if (*calls && !strstr(calls, name)) return NOTHING;
  pthread_mutex_lock(&lock);
  const char *round = setting("FAULT_ROUND");
  if (strncmp(round_now, round, sizeof round_now - 1) != 0) {
    strncpy(round_now, round, sizeof round_now - 1);
    counted = 0;
  }
  long number = ++counted;
  const char *log = setting("FAULT_LOG");
  if (*log) {
    char line[1200];
    int length = snprintf(line, sizeof line, "%s %s\n", call, path);
    int fd = syscall(SYS_openat, AT_FDCWD, log, O_WRONLY | O_APPEND | O_CREAT, 0644);
    if (fd >= 0) {
      syscall(SYS_write, fd, line, length);
      syscall(SYS_close, fd);
    }
  }
  pthread_mutex_unlock(&lock);
  long at = atol(setting("FAULT_AT"));
  int stays = changes && atoi(setting("FAULT_STAYS")) == 1;
  if (at == 0 || number < at || (number > at && !stays)) return NOTHING;
  const char *kind = setting("FAULT_KIND");
  if (strcmp(kind, "kill") == 0) {
    syscall(SYS_kill, getpid(), SIGKILL);
    for (;;) pause();
  }
  if (strcmp(kind, "short") == 0) return SHORT;
  errno = atoi(kind);
  return FAIL;
}

#define REAL(type, name, ...)                                                                      \
  static type (*real)(__VA_ARGS__);                                                                \
  if (!real) real = (type(*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

static void remember(int fd, const char *path) {
  if (fd < 0 || fd >= MOST) return;
  pthread_mutex_lock(&lock);
  free(paths[fd]);
  paths[fd] = counts(path) ? strdup(path) : NULL;
  pthread_mutex_unlock(&lock);
}

#define OPEN(symbol)                                                                               \
  int symbol(const char *path, int flags, ...) {                                                   \
    REAL(int, #symbol, const char *, int, ...);                                                    \
    va_list rest;                                                                                  \
    va_start(rest, flags);                                                                         \
    mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;                        \
    va_end(rest);                                                                                  \
    if (fate(flags & O_CREAT ? "create" : "open", path, flags & O_CREAT) == FAIL) return -1;       \
    int fd = real(path, flags, mode);                                                              \
    remember(fd, path);                                                                            \
    return fd;                                                                                     \
  }
OPEN(open)
OPEN(open64)

#define OPENAT(symbol)                                                                             \
  int symbol(int folder, const char *path, int flags, ...) {                                       \
    REAL(int, #symbol, int, const char *, int, ...);                                               \
    va_list rest;                                                                                  \
    va_start(rest, flags);                                                                         \
    mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0;                        \
    va_end(rest);                                                                                  \
    if (fate(flags & O_CREAT ? "create" : "open", path, flags & O_CREAT) == FAIL) return -1;       \
    int fd = real(folder, path, flags, mode);                                                      \
    remember(fd, path);                                                                            \
    return fd;                                                                                     \
  }
OPENAT(openat)
OPENAT(openat64)

int close(int fd) {
  REAL(int, "close", int);
  const char *path = path_of(fd);
  if (!path) return real(fd);
  int failed = fate("close", path, 1) == FAIL;
  int saved = errno;
  /* The descriptor is gone in any case, as on Linux. */
  remember(fd, NULL);
  int result = real(fd);
  if (failed) errno = saved;
  return failed ? -1 : result;
}

ssize_t read(int fd, void *buffer, size_t size) {
  REAL(ssize_t, "read", int, void *, size_t);
  int what = fate("read", path_of(fd), 0);
  if (what == FAIL) return -1;
  return real(fd, buffer, what == SHORT && size > 1 ? 1 : size);
}

#define PREAD(symbol)                                                                              \
  ssize_t symbol(int fd, void *buffer, size_t size, off_t at) {                                    \
    REAL(ssize_t, #symbol, int, void *, size_t, off_t);                                            \
    int what = fate("read", path_of(fd), 0);                                                       \
    if (what == FAIL) return -1;                                                                   \
    return real(fd, buffer, what == SHORT && size > 1 ? 1 : size, at);                             \
  }
PREAD(pread)
PREAD(pread64)

ssize_t write(int fd, const void *buffer, size_t size) {
  REAL(ssize_t, "write", int, const void *, size_t);
  int what = fate("write", path_of(fd), 1);
  if (what == FAIL) return -1;
  return real(fd, buffer, what == SHORT && size > 1 ? 1 : size);
}

#define PWRITE(symbol)                                                                             \
  ssize_t symbol(int fd, const void *buffer, size_t size, off_t at) {                              \
    REAL(ssize_t, #symbol, int, const void *, size_t, off_t);                                      \
    int what = fate("write", path_of(fd), 1);                                                      \
    if (what == FAIL) return -1;                                                                   \
    return real(fd, buffer, what == SHORT && size > 1 ? 1 : size, at);                             \
  }
PWRITE(pwrite)
PWRITE(pwrite64)

ssize_t writev(int fd, const struct iovec *parts, int count) {
  REAL(ssize_t, "writev", int, const struct iovec *, int);
  return fate("write", path_of(fd), 1) == FAIL ? -1 : real(fd, parts, count);
}

int fsync(int fd) {
  REAL(int, "fsync", int);
  return fate("fsync", path_of(fd), 1) == FAIL ? -1 : real(fd);
}

int rename(const char *from, const char *to) {
  REAL(int, "rename", const char *, const char *);
  return fate("rename", to, 1) == FAIL ? -1 : real(from, to);
}

int link(const char *from, const char *to) {
  REAL(int, "link", const char *, const char *);
  return fate("link", to, 1) == FAIL ? -1 : real(from, to);
}

int unlink(const char *path) {
  REAL(int, "unlink", const char *);
  return fate("unlink", path, 1) == FAIL ? -1 : real(path);
}

int mkdir(const char *path, mode_t mode) {
  REAL(int, "mkdir", const char *, mode_t);
  return fate("mkdir", path, 1) == FAIL ? -1 : real(path, mode);
}

int rmdir(const char *path) {
  REAL(int, "rmdir", const char *);
  return fate("rmdir", path, 1) == FAIL ? -1 : real(path);
}

int access(const char *path, int mode) {
  REAL(int, "access", const char *, int);
  return fate("access", path, 0) == FAIL ? -1 : real(path, mode);
}

int statx(int folder, const char *path, int flags, unsigned int mask, struct statx *out) {
  REAL(int, "statx", int, const char *, int, unsigned int, struct statx *);
  const char *named = *path ? path : path_of(folder);
  return fate("stat", named, 0) == FAIL ? -1 : real(folder, path, flags, mask, out);
}

/* libuv closes, and asks for statx, by number. */
long syscall(long number, ...) {
  REAL(long, "syscall", long, ...);
  va_list rest;
  va_start(rest, number);
  long a = va_arg(rest, long), b = va_arg(rest, long), c = va_arg(rest, long);
  long d = va_arg(rest, long), e = va_arg(rest, long), f = va_arg(rest, long);
  va_end(rest);
  if (number == SYS_statx) {
    const char *path = (const char *)b;
    const char *named = path && *path ? path : path_of((int)a);
    if (fate("stat", named, 0) == FAIL) return -1;
  }
  if (number == SYS_close) return close((int)a);
  return real(number, a, b, c, d, e, f);
}
