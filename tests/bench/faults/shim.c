/* Faults of a disk and of a clock, put between a program and the C library (LD_PRELOAD).
 *
 * Off until it is told otherwise by the functions at the end. Only files whose path begins with the prefix
 * that was given are touched; the clock is the wall clock alone.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

enum { WRITE = 1, SYNC = 2, OPEN = 4, TRUNCATE = 8, PRINTED = 16, UNLINK = 32 };

static char prefix[4096];
static int mask, error, record_to = -1, printed;
static long after, times, delay_us, hang_after = -1, hang_s;
static double clock_offset;

#define REAL(type, name, ...) static type (*real)(__VA_ARGS__); if (!real) real = dlsym(RTLD_NEXT, #name)

static int ours(int fd, char *path, size_t size) {
    char link[64];
    if (!prefix[0]) return 0;
    strcpy(link, "/proc/self/fd/");
    char digits[16]; int n = 0;
    if (fd < 0) return 0;
    do digits[n++] = '0' + fd % 10; while (fd /= 10);
    char *end = link + strlen(link);
    while (n) *end++ = digits[--n];
    *end = 0;
    ssize_t length = syscall(SYS_readlink, link, path, size - 1);
    if (length < 0) return 0;
    path[length] = 0;
    return strncmp(path, prefix, strlen(prefix)) == 0;
}

static int fails(int op) {
    if (delay_us && (op == SYNC)) usleep(delay_us);
    if (op == SYNC && printed && hang_after >= 0 && hang_after-- == 0)
        for (long left = hang_s; left != 0; left--) sleep(1);
    if (!(mask & op)) return 0;
    if (after > 0) { after--; return 0; }
    if (times == 0) return 0;
    if (times > 0) times--;
    errno = error;
    return 1;
}

static void record(int32_t op, const char *path, int64_t offset, const void *data, int64_t length) {
    if (record_to < 0) return;
    int32_t name = strlen(path);
    int64_t kept = data ? length : 0;
    struct { int32_t op, name; int64_t offset, length, kept; } head = {op, name, offset, length, kept};
    int before = errno;
    syscall(SYS_write, record_to, &head, sizeof head);
    syscall(SYS_write, record_to, path, name);
    if (kept) syscall(SYS_write, record_to, data, kept);
    errno = before;
}

ssize_t pwrite64(int fd, const void *data, size_t length, off64_t offset) {
    REAL(ssize_t, pwrite64, int, const void *, size_t, off64_t);
    char path[4096];
    if (!ours(fd, path, sizeof path)) return real(fd, data, length, offset);
    if (fails(WRITE)) return -1;
    ssize_t done = real(fd, data, length, offset);
    if (done > 0) record(WRITE, path, offset, data, done);
    return done;
}
ssize_t pwrite(int fd, const void *data, size_t length, off_t offset) { return pwrite64(fd, data, length, offset); }

ssize_t write(int fd, const void *data, size_t length) {
    REAL(ssize_t, write, int, const void *, size_t);
    char path[4096];
    if (fd == 1) {
        ssize_t done = real(fd, data, length);
        printed = 1;
        if (done > 0) record(PRINTED, "", 0, data, done);
        return done;
    }
    if (!ours(fd, path, sizeof path)) return real(fd, data, length);
    if (fails(WRITE)) return -1;
    off_t offset = lseek(fd, 0, SEEK_CUR);
    ssize_t done = real(fd, data, length);
    if (done > 0) record(WRITE, path, offset, data, done);
    return done;
}

static int synced(int fd, int (*real)(int)) {
    char path[4096];
    if (!ours(fd, path, sizeof path)) return real(fd);
    if (fails(SYNC)) return -1;
    int done = real(fd);
    if (done == 0) record(SYNC, path, 0, 0, 0);
    return done;
}
int fsync(int fd) { REAL(int, fsync, int); return synced(fd, real); }
int fdatasync(int fd) { REAL(int, fdatasync, int); return synced(fd, real); }

int ftruncate64(int fd, off64_t length) {
    REAL(int, ftruncate64, int, off64_t);
    char path[4096];
    if (!ours(fd, path, sizeof path)) return real(fd, length);
    if (fails(TRUNCATE)) return -1;
    int done = real(fd, length);
    if (done == 0) record(TRUNCATE, path, 0, 0, length);
    return done;
}
int ftruncate(int fd, off_t length) { return ftruncate64(fd, length); }

int unlink(const char *path) {
    REAL(int, unlink, const char *);
    int done = real(path);
    if (done == 0 && prefix[0] && strncmp(path, prefix, strlen(prefix)) == 0) record(UNLINK, path, 0, 0, 0);
    return done;
}

static int opened(const char *path, int flags, int mode, int (*real)(const char *, int, ...)) {
    int writes = (flags & O_ACCMODE) != O_RDONLY;
    if (prefix[0] && writes && strncmp(path, prefix, strlen(prefix)) == 0 && fails(OPEN)) return -1;
    return real(path, flags, mode);
}
int open64(const char *path, int flags, ...) {
    REAL(int, open64, const char *, int, ...);
    va_list rest; va_start(rest, flags); int mode = va_arg(rest, int); va_end(rest);
    return opened(path, flags, mode, real);
}
int open(const char *path, int flags, ...) {
    REAL(int, open, const char *, int, ...);
    va_list rest; va_start(rest, flags); int mode = va_arg(rest, int); va_end(rest);
    return opened(path, flags, mode, real);
}

int clock_gettime(clockid_t which, struct timespec *now) {
    REAL(int, clock_gettime, clockid_t, struct timespec *);
    int done = real(which, now);
    if (which == CLOCK_REALTIME && clock_offset != 0) now->tv_sec += (time_t)clock_offset;
    return done;
}

/* Which files. */
void faults_prefix(const char *given) { strncpy(prefix, given, sizeof prefix - 1); }
/* `given` (bits) fails with `number` from the operation after the next `skip` on, `count` times; -1: for ever. */
void faults_fail(int given, int number, long skip, long count) {
    mask = given; error = number; after = skip; times = count;
}
/* Each sync takes so long. */
void faults_slow(long microseconds) { delay_us = microseconds; }
/* The sync after the next `skip` since something was printed takes so long; negative: it never returns. */
void faults_hang(long skip, long seconds) { hang_after = skip; hang_s = seconds; }
/* Writes what is done to the files, and what is printed, to this descriptor; -1: no more. */
void faults_record(int fd) { record_to = fd; }
/* The wall clock is wrong by so many seconds. */
void faults_clock(double seconds) { clock_offset = seconds; }
