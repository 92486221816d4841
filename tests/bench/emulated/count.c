/* A plugin of QEMU's user mode that counts instructions. The program marks a moment by getpriority(PRIO_PROCESS,
 * MARK + n), which changes nothing; the plugin then writes "n count". The declarations are those of QEMU's
 * qemu-plugin.h, version 1 of its interface, which Debian does not ship. */
#include <inttypes.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { GETPRIORITY_ON_ARM64 = 141, MARK = 0x43420000, MARK_BITS = 0xffff };

typedef uint64_t plugin_id;
typedef struct plugin_tb plugin_tb;
enum plugin_op { ADD_U64 };
typedef void (*on_translated)(plugin_id, plugin_tb *);
typedef void (*on_syscall)(plugin_id, unsigned, int64_t, uint64_t, uint64_t, uint64_t, uint64_t, uint64_t, uint64_t,
                           uint64_t, uint64_t);

void qemu_plugin_register_vcpu_tb_trans_cb(plugin_id, on_translated);
void qemu_plugin_register_vcpu_syscall_cb(plugin_id, on_syscall);
void qemu_plugin_register_vcpu_tb_exec_inline(plugin_tb *, enum plugin_op, void *, uint64_t);
size_t qemu_plugin_tb_n_insns(const plugin_tb *);

__attribute__((visibility("default"))) int qemu_plugin_version = 1;

static uint64_t counted;
static FILE *out;

static void translated(plugin_id id, plugin_tb *block) {
    (void)id;
    qemu_plugin_register_vcpu_tb_exec_inline(block, ADD_U64, &counted, qemu_plugin_tb_n_insns(block));
}

static void called(plugin_id id, unsigned cpu, int64_t number, uint64_t which, uint64_t who, uint64_t a3, uint64_t a4,
                   uint64_t a5, uint64_t a6, uint64_t a7, uint64_t a8) {
    (void)id, (void)cpu, (void)which, (void)a3, (void)a4, (void)a5, (void)a6, (void)a7, (void)a8;
    if (number == GETPRIORITY_ON_ARM64 && (who & ~(uint64_t)MARK_BITS) == MARK) {
        fprintf(out, "%" PRIu64 " %" PRIu64 "\n", who & MARK_BITS, counted);
        fflush(out);
    }
}

__attribute__((visibility("default"))) int qemu_plugin_install(plugin_id id, const void *info, int argc, char **argv) {
    (void)info;
    for (int n = 0; n < argc; n++)
        if (strncmp(argv[n], "out=", 4) == 0)
            out = fopen(argv[n] + 4, "w");
    if (out == NULL) {
        fputs("count: found no out=FILE that can be written\n", stderr);
        return -1;
    }
    qemu_plugin_register_vcpu_tb_trans_cb(id, translated);
    qemu_plugin_register_vcpu_syscall_cb(id, called);
    return 0;
}
