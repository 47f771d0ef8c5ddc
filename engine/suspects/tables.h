/* Tables of checks kept for as long as the knowledge is used: rows never change once made. */
#ifndef SUSPECTS_TABLES_H
#define SUSPECTS_TABLES_H

#include "suspects/table.h"

struct su_tables;
struct su_tables *su_tables_new(const struct kn_knowledge *kn);
void su_tables_free(struct su_tables *t);
/* Made on first asking; owned by t. NULL when the check has too many cells. */
struct su_table *su_tables_get(struct su_tables *t, int check, int place);

#endif
