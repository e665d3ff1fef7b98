/* A disk with moods: below BAGVIGIL_DISK, what the file BAGVIGIL_MOOD says happens to writes and syncs.
 *
 * Preloaded before libc. `slow MS` lets every sync take so long, `fail ERRNO` refuses every write,
 * sync and file that is opened for writing. An absent or empty file: the disk is as it is.
 */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

static int mood(const char *kind) {
    char held[64] = "", word[16] = "";
    int number = 0;
    const char *path = getenv("BAGVIGIL_MOOD");
    int fd = path ? (int)syscall(SYS_openat, AT_FDCWD, path, O_RDONLY | O_CLOEXEC, 0) : -1;
    if (fd < 0)
        return 0;
    syscall(SYS_read, fd, held, sizeof held - 1);
    syscall(SYS_close, fd);
    return sscanf(held, "%15s %d", word, &number) == 2 && strcmp(word, kind) == 0 ? number : 0;
}

static int is_watched(const char *path) {
    const char *disk = getenv("BAGVIGIL_DISK");
    return disk && path && strncmp(path, disk, strlen(disk)) == 0;
}

static int is_ours(int fd) {
    char name[64], path[512];
    snprintf(name, sizeof name, "/proc/self/fd/%d", fd);
    ssize_t size = readlink(name, path, sizeof path - 1);
    path[size > 0 ? size : 0] = 0;
    return is_watched(path);
}

static int refused(int fd) {
    int number = is_ours(fd) ? mood("fail") : 0;
    errno = number ? number : errno;
    return number;
}

static int synced(int fd, long call) {
    if (refused(fd))
        return -1;
    int slow_ms = is_ours(fd) ? mood("slow") : 0;
    struct timespec pause = {slow_ms / 1000, slow_ms % 1000 * 1000000L};
    if (slow_ms)
        nanosleep(&pause, NULL);
    return (int)syscall(call, fd);
}

int fsync(int fd) { return synced(fd, SYS_fsync); }
int fdatasync(int fd) { return synced(fd, SYS_fdatasync); }

ssize_t pwrite64(int fd, const void *bytes, size_t size, off64_t at) {
    return refused(fd) ? -1 : syscall(SYS_pwrite64, fd, bytes, size, at);
}
ssize_t pwrite(int fd, const void *bytes, size_t size, off_t at) {
    return pwrite64(fd, bytes, size, at);
}
ssize_t write(int fd, const void *bytes, size_t size) {
    return refused(fd) ? -1 : syscall(SYS_write, fd, bytes, size);
}

int open64(const char *path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    int mode = va_arg(rest, int);
    va_end(rest);
    int number = is_watched(path) && (flags & O_ACCMODE) != O_RDONLY ? mood("fail") : 0;
    if (number) {
        errno = number;
        return -1;
    }
    return (int)syscall(SYS_openat, AT_FDCWD, path, flags, mode);
}
int open(const char *path, int flags, ...) {
    va_list rest;
    va_start(rest, flags);
    int mode = va_arg(rest, int);
    va_end(rest);
    return open64(path, flags, mode);
}
