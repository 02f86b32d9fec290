// Preloaded into the program: from main on, its N-th allocation gets no memory, and all after it do.
//
//   SLIPGLASS_ALLOCATION=N       1 is the first; 0: none fails
//   SLIPGLASS_ALLOCATION_TOLD=F  a file that is told, a line each: "count N" at the program's end; "refused LIBRARY", whose
//                                code asked for what it did not get; "at OFFSET", for each caller in the program itself,
//                                where in it, the last one first; "crashed SIGNAL"; where none fails, "chain N" of each
//                                N that is the first of its chain of callers
//
// LIBRARY is the file of the first code on the stack that is neither C's, C++'s nor this; the program is by its name, too.
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <execinfo.h>
#include <fcntl.h>
#include <malloc.h>
#include <signal.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

// glibc's own, by the names that it has for whoever comes between.
extern void* __libc_malloc(size_t);
extern void* __libc_calloc(size_t, size_t);
extern void* __libc_realloc(void*, size_t);
extern void* __libc_memalign(size_t, size_t);

static atomic_long seen = 0;
static atomic_long wanted = 0;
static atomic_int lists_chains = 0;
static long nth_after_begin = 0;
static int told = -1;

static void tell(const char* what, const char* which)
{
    char line[512];
    const int n = snprintf(line, sizeof line, "%s %s\n", what, which);
    if (told >= 0 && write(told, line, (size_t)n) != n) _exit(126);
}

static const char* nameOf(const char* path)
{
    const char* slash = strrchr(path, '/');
    return slash ? slash + 1 : path;
}

static void tellWhoAsked(void)
{
    void* calls[64];
    const int n = backtrace(calls, 64);
    static const char* const passed[] = {"libc.so", "libstdc++.so", "ld-linux", "libfail_allocation", "libgcc_s"};
    int is_told = 0;
    for (int i = 0; i < n; ++i) {
        Dl_info where;
        if (!dladdr(calls[i], &where) || !where.dli_fname) continue;
        const char* name = nameOf(where.dli_fname);
        int is_passed = 0;
        for (size_t p = 0; p < sizeof passed / sizeof *passed; ++p)
            is_passed |= strncmp(name, passed[p], strlen(passed[p])) == 0;
        if (is_passed) continue;
        if (!is_told) tell("refused", name);
        is_told = 1;
        if (strncmp(name, "slipglass", strlen("slipglass")) != 0) continue;
        char place[32];
        snprintf(place, sizeof place, "0x%lx", (unsigned long)((char*)calls[i] - (char*)where.dli_fbase) - 1);
        tell("at", place);
    }
    if (!is_told) tell("refused", "unknown");
}

static void crashed(int number)
{
    char text[16];
    snprintf(text, sizeof text, "%d", number);
    tell("crashed", text);
    signal(number, SIG_DFL);
    raise(number);
}

__attribute__((constructor)) static void begin(void)
{
    const char* nth = getenv("SLIPGLASS_ALLOCATION");
    if (!nth) return;
    const char* to = getenv("SLIPGLASS_ALLOCATION_TOLD");
    void* first[4];
    backtrace(first, 4);  // the first call loads what it needs
    if (to) told = open(to, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
    const int ends[] = {SIGSEGV, SIGBUS, SIGILL, SIGFPE, SIGABRT, SIGTRAP};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; ++i) signal(ends[i], crashed);
    nth_after_begin = atol(nth);
}

// glibc's beginning of a program, which calls what is made before main, and then main.
static int (*real_main)(int, char**, char**);
static int countedMain(int argc, char** argv, char** environment)
{
    atomic_store(&seen, 0);
    wanted = nth_after_begin;
    lists_chains = nth_after_begin == 0 && told >= 0;
    return real_main(argc, argv, environment);
}
int __libc_start_main(int (*program)(int, char**, char**), int argc, char** argv, void (*before)(void), void (*after)(void),
                      void (*unload)(void), void* stack_end)
{
    __typeof__(&__libc_start_main) begin_program = (__typeof__(&__libc_start_main))dlsym(RTLD_NEXT, "__libc_start_main");
    real_main = program;
    return begin_program(countedMain, argc, argv, before, after, unload, stack_end);
}

__attribute__((destructor)) static void end(void)
{
    char text[32];
    snprintf(text, sizeof text, "%ld", atomic_load(&seen));
    tell("count", text);
}

// Whether it is the first allocation that these callers, each from this place in it, led to.
static int isNewChain(void)
{
    static atomic_ulong known[1 << 20];
    const unsigned long slots = sizeof known / sizeof *known;
    void* calls[200];
    const int n = backtrace(calls, 200);
    unsigned long sum = 14695981039346656037UL;  // FNV-1a, in words
    for (int i = 0; i < n; ++i) sum = (sum ^ (unsigned long)calls[i]) * 1099511628211UL;
    for (unsigned long slot = (sum >> 32) % slots;; slot = (slot + 1) % slots) {
        unsigned long found = 0;
        if (atomic_compare_exchange_strong(&known[slot], &found, sum)) return 1;
        if (found == sum) return 0;
    }
}

static int refused(void)
{
    const long nth = atomic_fetch_add(&seen, 1) + 1;
    if (lists_chains && isNewChain()) {
        char text[32];
        snprintf(text, sizeof text, "%ld", nth);
        tell("chain", text);
    }
    if (nth != wanted) return 0;
    wanted = 0;  // what follows of ours is not looked at
    tellWhoAsked();
    errno = ENOMEM;
    return 1;
}

void* malloc(size_t n)
{
    return refused() ? NULL : __libc_malloc(n);
}
void* calloc(size_t many, size_t n)
{
    return refused() ? NULL : __libc_calloc(many, n);
}
void* realloc(void* old, size_t n)
{
    return refused() ? NULL : __libc_realloc(old, n);
}
void* memalign(size_t to, size_t n)
{
    return refused() ? NULL : __libc_memalign(to, n);
}
void* aligned_alloc(size_t to, size_t n)
{
    return refused() ? NULL : __libc_memalign(to, n);
}
int posix_memalign(void** at, size_t to, size_t n)
{
    if (refused()) return ENOMEM;
    void* const got = __libc_memalign(to, n);
    if (!got) return ENOMEM;
    *at = got;
    return 0;
}
