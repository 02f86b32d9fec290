// Preloaded into the program: makes the N-th change to a file below SLIPGLASS_FAULT_BELOW fail, or ends the program
// there, as a kill does, or as a power cut does.
//
//   SLIPGLASS_FAULT=fail:N   the N-th fails with ENOSPC, and all after it do not
//   SLIPGLASS_FAULT=kill:N   the program ends before the N-th
//   SLIPGLASS_FAULT=power:N  the same, and what was written and not flushed to the disk is lost: bytes of files that
//                            fsync or fdatasync has seen since are kept, all others go back to what they were
//   SLIPGLASS_FAULT=count:0  nothing; SLIPGLASS_FAULT_COUNT names a file that then gets how many changes there were
//
// A change: write, pwrite, ftruncate, rename, unlink, mkdir, an opening that makes or empties a file, fsync, fdatasync.
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

enum how { none, count, fail, kill_, power };

// What has to be undone in a power cut, the latest first.
struct change {
    struct change* before;
    dev_t dev;
    ino_t ino;
    char path[PATH_MAX];
    off_t at, size;  // size: of the file, before
    size_t length;
    char bytes[];
};

static pthread_mutex_t lock = PTHREAD_RECURSIVE_MUTEX_INITIALIZER_NP;
static enum how how = none;
static long wanted = 0, seen = 0;
static const char* below = "";
static struct change* unflushed = NULL;

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

__attribute__((constructor)) static void begin(void)
{
    const char* told = getenv("SLIPGLASS_FAULT");
    below = getenv("SLIPGLASS_FAULT_BELOW");
    if (!told || !below) return;
    how = !strncmp(told, "fail", 4) ? fail : !strncmp(told, "kill", 4) ? kill_ : !strncmp(told, "power", 5) ? power : count;
    wanted = atol(strchr(told, ':') + 1);
}

__attribute__((destructor)) static void end(void)
{
    const char* to = getenv("SLIPGLASS_FAULT_COUNT");
    if (how != count || !to) return;
    how = none;
    FILE* file = fopen(to, "w");
    if (file) {
        fprintf(file, "%ld", seen);
        fclose(file);
    }
}

static int counts(const char* path)
{
    char whole[PATH_MAX];
    if (path && path[0] != '/' && getcwd(whole, sizeof whole)) {
        strncat(whole, "/", sizeof whole - strlen(whole) - 1);
        strncat(whole, path, sizeof whole - strlen(whole) - 1);
        path = whole;
    }
    return how != none && path && !strncmp(path, below, strlen(below));
}

static int pathOf(int fd, char* path)
{
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    const ssize_t n = readlink(link, path, PATH_MAX - 1);
    if (n < 0) return 0;
    path[n] = 0;
    return counts(path);
}

static void undo(void)
{
    for (struct change* c = unflushed; c; c = c->before) {
        struct stat now;
        const int fd = REAL(open)(c->path, O_RDWR);
        if (fd < 0) continue;
        // A file that was moved since is another one at this place.
        if (fstat(fd, &now) == 0 && now.st_ino == c->ino && now.st_dev == c->dev) {
            if (REAL(ftruncate)(fd, c->size) != 0 || REAL(pwrite)(fd, c->bytes, c->length, c->at) < 0) abort();
        }
        close(fd);
    }
}

// The N-th change is due. 1: it is to fail.
static int due(void)
{
    if (how == none || how == count) {
        ++seen;
        return 0;
    }
    if (++seen != wanted) return 0;
    if (how == fail) {
        errno = ENOSPC;
        return 1;
    }
    if (how == power) undo();
    _exit(137);
}

static void remember(int fd, off_t at, size_t length)
{
    struct stat now;
    if (how != power || fstat(fd, &now) != 0) return;
    const size_t old = at >= now.st_size ? 0 : (size_t)(now.st_size - at) < length ? (size_t)(now.st_size - at) : length;
    struct change* c = malloc(sizeof *c + old);
    if (!c || !pathOf(fd, c->path)) {
        free(c);
        return;
    }
    // Read by a descriptor of its own: this one may be for writing only.
    const int other = REAL(open)(c->path, O_RDONLY);
    c->length = other < 0 || pread(other, c->bytes, old, at) < 0 ? 0 : old;
    if (other >= 0) close(other);
    c->dev = now.st_dev;
    c->ino = now.st_ino;
    c->at = at;
    c->size = now.st_size;
    c->before = unflushed;
    unflushed = c;
}

static void flushed(int fd)
{
    struct stat now;
    if (how != power || fstat(fd, &now) != 0) return;
    for (struct change** c = &unflushed; *c;) {
        if ((*c)->ino == now.st_ino && (*c)->dev == now.st_dev)
            *c = (*c)->before;
        else
            c = &(*c)->before;
    }
}

// A file that keeps its bytes is known by its number, wherever it is moved.
static void moved(const char* from, const char* to)
{
    struct stat now;
    if (how != power || stat(from, &now) != 0) return;
    for (struct change* c = unflushed; c; c = c->before)
        if (c->ino == now.st_ino && c->dev == now.st_dev && realpath(from, c->path))
            snprintf(c->path, sizeof c->path, "%s", to);
}

#define CHANGE(is_one, failed, before, real)          \
    pthread_mutex_lock(&lock);                        \
    const int one = is_one;                           \
    if (one && due()) {                               \
        pthread_mutex_unlock(&lock);                  \
        return failed;                                \
    }                                                 \
    if (one) { before; }                              \
    const __typeof__(real) answer = real;             \
    pthread_mutex_unlock(&lock);                      \
    return answer;

ssize_t write(int fd, const void* bytes, size_t n)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, remember(fd, lseek(fd, 0, SEEK_CUR), n), REAL(write)(fd, bytes, n))
}
ssize_t writev(int fd, const struct iovec* parts, int many)
{
    char path[PATH_MAX];
    size_t n = 0;
    for (int i = 0; i < many; ++i) n += parts[i].iov_len;
    CHANGE(pathOf(fd, path), -1, remember(fd, lseek(fd, 0, SEEK_CUR), n), REAL(writev)(fd, parts, many))
}
ssize_t pwrite(int fd, const void* bytes, size_t n, off_t at)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, remember(fd, at, n), REAL(pwrite)(fd, bytes, n, at))
}
ssize_t pwrite64(int fd, const void* bytes, size_t n, off64_t at)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, remember(fd, at, n), REAL(pwrite64)(fd, bytes, n, at))
}
static int cutTo(int fd, off_t size)
{
    struct stat now;
    if (fstat(fd, &now) == 0 && now.st_size > size) remember(fd, size, (size_t)(now.st_size - size));
    return 0;
}
int ftruncate(int fd, off_t size)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, cutTo(fd, size), REAL(ftruncate)(fd, size))
}
int ftruncate64(int fd, off64_t size)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, cutTo(fd, size), REAL(ftruncate64)(fd, size))
}
int fsync(int fd)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, flushed(fd), REAL(fsync)(fd))
}
int fdatasync(int fd)
{
    char path[PATH_MAX];
    CHANGE(pathOf(fd, path), -1, flushed(fd), REAL(fdatasync)(fd))
}
int rename(const char* from, const char* to)
{
    CHANGE(counts(to), -1, moved(from, to), REAL(rename)(from, to))
}
int unlink(const char* path)
{
    CHANGE(counts(path), -1, (void)0, REAL(unlink)(path))
}
int mkdir(const char* path, mode_t mode)
{
    CHANGE(counts(path), -1, (void)0, REAL(mkdir)(path, mode))
}
// Emptying a file that is there loses what it held, flushed or not: nothing of ours does that to what it means to keep.
static int makes(const char* path, int flags)
{
    return (flags & (O_CREAT | O_TRUNC)) != 0 && ((flags & O_TRUNC) != 0 || access(path, F_OK) != 0) && counts(path);
}
int open(const char* path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = (flags & O_CREAT) ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    CHANGE(makes(path, flags), -1, (void)0, REAL(open)(path, flags, mode))
}
int open64(const char* path, int flags, ...)
{
    va_list rest;
    va_start(rest, flags);
    const mode_t mode = (flags & O_CREAT) ? va_arg(rest, mode_t) : 0;
    va_end(rest);
    CHANGE(makes(path, flags), -1, (void)0, REAL(open64)(path, flags, mode))
}
FILE* fopen(const char* path, const char* mode)
{
    CHANGE((mode[0] == 'w' || mode[0] == 'a') && counts(path), NULL, (void)0, REAL(fopen)(path, mode))
}
FILE* fopen64(const char* path, const char* mode)
{
    CHANGE((mode[0] == 'w' || mode[0] == 'a') && counts(path), NULL, (void)0, REAL(fopen64)(path, mode))
}
