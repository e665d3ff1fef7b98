/* Notes what a process does to the folder BAGVIGIL_DISK and below, in order, in the file BAGVIGIL_DISK_LOG.
 *
 * Preloaded before libc. Each call is done and noted under one lock, so the notes are the order in
 * which the disk was asked. A note is a line `op path a b` and, after a write, its b bytes.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <unistd.h>

#define MOST_FILES 1024
#define LONGEST 512

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static char paths[MOST_FILES][LONGEST];
static int log_fd = -1;

static int is_watched(const char *path) {
    const char *disk = getenv("BAGVIGIL_DISK");
    size_t size = disk ? strlen(disk) : 0;
    if (!disk || !path || strlen(path) >= LONGEST || strncmp(path, disk, size))
        return 0;
    return path[size] == 0 || path[size] == '/';
}

static void put(const void *bytes, size_t size) {
    if (log_fd < 0)
        log_fd = (int)syscall(SYS_openat, AT_FDCWD, getenv("BAGVIGIL_DISK_LOG"),
                              O_WRONLY | O_CREAT | O_APPEND, 0600);
    if (syscall(SYS_write, log_fd, bytes, size) != (long)size)
        abort();
}

static void note(char op, const char *path, long long a, long long b) {
    char line[2 * LONGEST];
    int size = snprintf(line, sizeof line, "%c\t%s\t%lld\t%lld\n", op, path, a, b);
    put(line, (size_t)size);
}

static const char *path_of(int fd) {
    return fd >= 0 && fd < MOST_FILES && paths[fd][0] ? paths[fd] : NULL;
}

static int opened(int fd, const char *path, int flags, int was_there) {
    if (fd < 0 || fd >= MOST_FILES || !is_watched(path))
        return fd;
    strcpy(paths[fd], path);
    if (!was_there)
        note('c', path, 0, 0);
    else if (flags & O_TRUNC)
        note('t', path, 0, 0);
    return fd;
}

static int open_at(int dir, const char *path, int flags, int mode) {
    struct stat held;
    pthread_mutex_lock(&lock);
    int was_there = syscall(SYS_newfstatat, dir, path, &held, 0) == 0;
    int fd = (int)syscall(SYS_openat, dir, path, flags, mode);
    fd = opened(fd, path, flags, was_there);
    pthread_mutex_unlock(&lock);
    return fd;
}

#define OPEN(name)                                     \
    int name(const char *path, int flags, ...) {       \
        va_list rest;                                  \
        va_start(rest, flags);                         \
        int mode = va_arg(rest, int);                  \
        va_end(rest);                                  \
        return open_at(AT_FDCWD, path, flags, mode);   \
    }
OPEN(open)
OPEN(open64)

#define OPEN_AT(name)                                       \
    int name(int dir, const char *path, int flags, ...) {   \
        va_list rest;                                       \
        va_start(rest, flags);                              \
        int mode = va_arg(rest, int);                       \
        va_end(rest);                                       \
        return open_at(dir, path, flags, mode);             \
    }
OPEN_AT(openat)
OPEN_AT(openat64)

int close(int fd) {
    pthread_mutex_lock(&lock);
    if (path_of(fd))
        paths[fd][0] = 0;
    int result = (int)syscall(SYS_close, fd);
    pthread_mutex_unlock(&lock);
    return result;
}

ssize_t write(int fd, const void *bytes, size_t size) {
    pthread_mutex_lock(&lock);
    long long at = path_of(fd) ? (long long)lseek(fd, 0, SEEK_CUR) : 0;
    ssize_t done = syscall(SYS_write, fd, bytes, size);
    if (path_of(fd) && done > 0) {
        note('w', path_of(fd), at, done);
        put(bytes, (size_t)done);
    }
    pthread_mutex_unlock(&lock);
    return done;
}

static ssize_t write_at(int fd, const void *bytes, size_t size, off_t at) {
    pthread_mutex_lock(&lock);
    ssize_t done = syscall(SYS_pwrite64, fd, bytes, size, at);
    if (path_of(fd) && done > 0) {
        note('w', path_of(fd), (long long)at, done);
        put(bytes, (size_t)done);
    }
    pthread_mutex_unlock(&lock);
    return done;
}
ssize_t pwrite(int fd, const void *bytes, size_t size, off_t at) {
    return write_at(fd, bytes, size, at);
}
ssize_t pwrite64(int fd, const void *bytes, size_t size, off64_t at) {
    return write_at(fd, bytes, size, at);
}

static int noted(long result, char op, const char *path, long long a) {
    if (result == 0 && path && is_watched(path))
        note(op, path, a, 0);
    pthread_mutex_unlock(&lock);
    return (int)result;
}

#define ON_FD(name, call, op)                                   \
    int name(int fd) {                                          \
        pthread_mutex_lock(&lock);                              \
        return noted(syscall(call, fd), op, path_of(fd), 0);    \
    }
ON_FD(fsync, SYS_fsync, 's')
ON_FD(fdatasync, SYS_fdatasync, 's')

int ftruncate(int fd, off_t size) {
    pthread_mutex_lock(&lock);
    return noted(syscall(SYS_ftruncate, fd, size), 't', path_of(fd), size);
}
int ftruncate64(int fd, off64_t size) {
    pthread_mutex_lock(&lock);
    return noted(syscall(SYS_ftruncate, fd, size), 't', path_of(fd), size);
}

int unlink(const char *path) {
    pthread_mutex_lock(&lock);
    return noted(syscall(SYS_unlinkat, AT_FDCWD, path, 0), 'u', path, 0);
}

int mkdir(const char *path, mode_t mode) {
    pthread_mutex_lock(&lock);
    return noted(syscall(SYS_mkdirat, AT_FDCWD, path, mode), 'm', path, 0);
}

int rename(const char *from, const char *to) {
    pthread_mutex_lock(&lock);
    long result = syscall(SYS_renameat2, AT_FDCWD, from, AT_FDCWD, to, 0);
    if (result == 0 && is_watched(from) && is_watched(to)) {
        note('r', from, 0, (long long)strlen(to));
        put(to, strlen(to));
    }
    pthread_mutex_unlock(&lock);
    return (int)result;
}
