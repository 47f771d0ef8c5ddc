# halfsplit - GNU make.  `make help` lists the targets.
#
# The targets a newcomer types (demo, run, test) install what is missing and then call make
# again: nothing about the compiler or the libraries is asked before that.

PREFIX  ?= /usr/local
DESTDIR ?=
BUILD   ?= build
V       ?= release
INSTALL ?= install

bindir  = $(PREFIX)/bin
libdir  = $(PREFIX)/lib
incdir  = $(PREFIX)/include
datadir = $(PREFIX)/share/halfsplit
mandir  = $(PREFIX)/share/man/man1
compdir = $(PREFIX)/share/bash-completion/completions

PKGS       = libxml-2.0 readline
NEED_BUILD = gcc:command=$(firstword $(CC)) libc6-dev:file=/usr/include/stdio.h pkg-config \
             libxml2-dev:libxml-2.0 libreadline-dev:readline
NEED_TEST  = libcmocka-dev:cmocka libxml2-utils:command=xmllint

# ---- what there is ------------------------------------------------------------------------------

ROOMS    := $(shell cat engine/LAYERS)
LIBSRC   := $(sort $(foreach r,$(filter-out talk,$(ROOMS)),$(wildcard engine/$(r)/*.c)) \
                   $(wildcard engine/halfsplit.c))
TALKSRC  := $(sort $(wildcard engine/talk/*.c))
PROGSRC  := $(TALKSRC) engine/main.c
AIDSRC   := $(filter-out tests/test_% tests/bench_% tests/soak_%,$(sort $(wildcard tests/*.c)))
LIBOBJ   := $(LIBSRC:%.c=$(BUILD)/%.o)
TALKOBJ  := $(TALKSRC:%.c=$(BUILD)/%.o)
PROGOBJ  := $(PROGSRC:%.c=$(BUILD)/%.o)
AIDOBJ   := $(AIDSRC:%.c=$(BUILD)/%.o)
built     = $(patsubst %.c,$(BUILD)/%,$(sort $(wildcard tests/$(1)_*.c)))
TESTS    := $(call built,test)
BENCHES  := $(call built,bench)
SOAKS    := $(call built,soak)
SCRIPTS  := $(filter-out tests/bench_% tests/soak_%,$(sort $(wildcard tests/*.sh)))
TREES    := $(shell [ -d trees ] && find trees -name '*.xml' | LC_ALL=C sort)
PROGRAM   = $(BUILD)/halfsplit
LIBRARY   = $(BUILD)/libhalfsplit.a

# ---- flags: the user's CFLAGS, CPPFLAGS and LDFLAGS come last and win ---------------------------

# Nothing below is asked when the goals need no compiler: these must work on a bare machine.
NO_COMPILER = clean help uninstall check-layers lint demo run test sanitize coverage analyze bench \
              soak FORCE
ifneq ($(filter-out $(NO_COMPILER),$(or $(MAKECMDGOALS),all)),)

MISSING := $(if $(shell command -v pkg-config),$(foreach p,$(PKGS),$(if \
             $(shell pkg-config --exists $(p) && echo y),,$(p))),pkg-config)
ifneq ($(strip $(MISSING)),)
 $(error Not found: $(strip $(MISSING)).  `make demo` or `make test` installs what is needed)
endif

HASH := \#
try   = $(shell printf '$(HASH)include <string.h>\nint main(void){return 0;}\n' | \
          $(CC) -Werror $(1) -x c - -o /dev/null >/dev/null 2>&1 && echo '$(1)')
WARN := -std=c11 -D_GNU_SOURCE -Wall -Wextra -Wformat=2 -Wshadow -Wvla -Wundef -Wcast-qual \
        -Wwrite-strings -Wstrict-prototypes -Wmissing-prototypes -Wnull-dereference \
        -Wimplicit-fallthrough -Wconversion -Wsign-conversion \
        -Werror=implicit -Werror=incompatible-pointer-types -Werror=int-conversion

ifeq ($(V),release)
 # Fortifying needs an optimising compiler: CFLAGS=-O0 goes without.
 ifeq ($(filter -O0,$(CFLAGS)),)
  FORTIFY := -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=$(if \
               $(call try,-O2 -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=3),3,2)
 endif
 OPT := -O2 -g $(FORTIFY) -fstack-protector-strong -fPIE $(call try,-fstack-clash-protection) \
        $(call try,-fcf-protection=full)
 LNK := -pie -Wl,-z,relro -Wl,-z,now -Wl,-z,noexecstack
else ifeq ($(V),sanitize)
 OPT := -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
 LNK := -fsanitize=address,undefined
else ifeq ($(V),coverage)
 OPT := -O0 -g --coverage
 LNK := --coverage
else ifeq ($(V),analyze)
 OPT := -O1 -fanalyzer -Werror
else
 $(error V=$(V) is not known: release, sanitize, coverage or analyze)
endif

# Floating point must not depend on the compiler: no contraction, no fast-math.
ALLC := $(WARN) $(OPT) -ffp-contract=off -ffile-prefix-map=$(CURDIR)=. -MMD -MP -Iengine -Iinclude \
        $(shell pkg-config --cflags $(PKGS)) $(CPPFLAGS) $(CFLAGS)
ALLL := $(LNK) -Wl,--as-needed $(LDFLAGS)
LIBS := $(shell pkg-config --libs $(PKGS)) -lm
endif

# ---- building -----------------------------------------------------------------------------------

all: check-layers $(PROGRAM)

# A stamp is rewritten when its text changes: other flags rebuild everything, another PREFIX only
# what has the path of the trees in it, a source file less only the archives.
$(BUILD)/.flags: export STAMP = $(CC) $(ALLC) $(ALLL) $(LIBS)
$(BUILD)/.prefix: export STAMP = $(datadir)
$(BUILD)/.sources: export STAMP = $(LIBSRC) $(TALKSRC) $(AIDSRC)
$(BUILD)/.flags $(BUILD)/.prefix $(BUILD)/.sources: FORCE
	@mkdir -p $(@D)
	@printf '%s\n' "$$STAMP" | cmp -s - $@ || printf '%s\n' "$$STAMP" >$@

$(PROGOBJ): OWN = -DHALFSPLIT_TREES='"$(datadir)/trees"'
$(PROGOBJ): $(BUILD)/.prefix

$(BUILD)/%.o: %.c $(BUILD)/.flags
	@mkdir -p $(@D)
	$(CC) $(ALLC) $(OWN) -c $< -o $@
# Tests see the talk room and their own aids as archives: each takes of them what it names.
$(LIBRARY): $(LIBOBJ)
$(BUILD)/libtalk.a: $(TALKOBJ)
$(BUILD)/tests/libaid.a: $(AIDOBJ)
$(LIBRARY) $(BUILD)/libtalk.a $(BUILD)/tests/libaid.a: $(BUILD)/.sources
	@mkdir -p $(@D)
	rm -f $@
	ar rcs $@ $(filter %.o,$^)
$(PROGRAM): $(PROGOBJ) $(LIBRARY)
	$(CC) $(ALLL) $^ $(LIBS) -o $@
$(TESTS) $(BENCHES) $(SOAKS): %: %.o $(BUILD)/tests/libaid.a $(BUILD)/libtalk.a $(LIBRARY)
	$(CC) $(ALLL) $^ -lcmocka $(LIBS) -o $@

room-%: FORCE
	@$(MAKE) --no-print-directory $(patsubst %.c,$(BUILD)/%.o,$(sort $(wildcard engine/$*/*.c)))
objects: $(LIBOBJ) $(PROGOBJ)
test-programs: $(TESTS)
bench-programs: $(BENCHES)
soak-programs: $(SOAKS)

# ---- running ------------------------------------------------------------------------------------

# With as many jobs as processors unless make was told a number.
AGAIN = $(MAKE) --no-print-directory -s $(if $(filter -j% --jobserver%,$(MAKEFLAGS)),,-j$$(nproc))

run:
	@.ci/need $(NEED_BUILD)
	@$(AGAIN) all
	@$(PROGRAM)
demo:
	@.ci/need $(NEED_BUILD)
	@echo 'Building ...'
	@$(AGAIN) all
	@.ci/demo $(PROGRAM)

test:
	@.ci/need $(NEED_BUILD) $(NEED_TEST)
	@echo 'Building ...'
	@$(AGAIN) all test-programs
	@.ci/run-tests $(BUILD) $(TESTS) $(SCRIPTS)
sanitize:
	@$(MAKE) --no-print-directory V=sanitize BUILD=$(BUILD)/sanitize test
coverage:
	@command -v gcovr >/dev/null || { echo 'gcovr is not installed: apt-get install gcovr'; exit 69; }
	@[ ! -d $(BUILD)/coverage ] || find $(BUILD)/coverage -name '*.gcda' -delete
	@$(MAKE) --no-print-directory V=coverage BUILD=$(BUILD)/coverage test; failed=$$?; \
	gcovr --root . --filter engine/ --print-summary $(BUILD)/coverage && \
	gcovr --root . --filter engine/ --branches $(BUILD)/coverage | sed 's/ Lines/ Branches/' && \
	exit $$failed
analyze:
	@$(AGAIN) V=analyze BUILD=$(BUILD)/analyze CC=gcc objects
	@echo 'gcc -fanalyzer: no findings'
	@if command -v cppcheck >/dev/null; then \
		cppcheck -q --error-exitcode=1 --std=c11 --inline-suppr -Iengine -Iinclude \
			--enable=warning,performance,portability engine && \
		echo 'cppcheck: no findings'; \
	else echo 'cppcheck: skipped, not installed'; fi
bench:
	@.ci/need $(NEED_BUILD) $(NEED_TEST)
	@$(AGAIN) all bench-programs
	@.ci/run-bench $(BUILD) $(BENCHES) $(sort $(wildcard tests/bench_*.sh))
soak:
	@.ci/need $(NEED_BUILD) $(NEED_TEST)
	@$(AGAIN) all soak-programs
	@.ci/run-bench $(BUILD) $(SOAKS) $(sort $(wildcard tests/soak_*.sh))

check-layers:
	@.ci/check-layers .
lint: check-layers
	@.ci/lint

# ---- installing ---------------------------------------------------------------------------------

# put FILE,FOLDER,MODE
put = $(INSTALL) -d '$(DESTDIR)$(2)' && $(INSTALL) -m $(3) $(1) '$(DESTDIR)$(2)/'
install: all
	$(call put,$(PROGRAM),$(bindir),755)
	$(call put,$(LIBRARY),$(libdir),644)
	$(if $(wildcard include/halfsplit.h),$(call put,include/halfsplit.h,$(incdir),644))
	$(if $(wildcard docs/halfsplit.1),$(call put,docs/halfsplit.1,$(mandir),644))
	$(if $(wildcard docs/halfsplit.bash),$(INSTALL) -d '$(DESTDIR)$(compdir)' && \
		$(INSTALL) -m 644 docs/halfsplit.bash '$(DESTDIR)$(compdir)/halfsplit')
	@for t in $(TREES); do \
		$(INSTALL) -d "$(DESTDIR)$(datadir)/$${t%/*}" && \
		$(INSTALL) -m 644 "$$t" "$(DESTDIR)$(datadir)/$$t" || exit 1; \
	done
uninstall:
	rm -f '$(DESTDIR)$(bindir)/halfsplit' '$(DESTDIR)$(libdir)/libhalfsplit.a' \
		'$(DESTDIR)$(incdir)/halfsplit.h' '$(DESTDIR)$(mandir)/halfsplit.1' \
		'$(DESTDIR)$(compdir)/halfsplit'
	@for t in $(TREES); do rm -f "$(DESTDIR)$(datadir)/$$t"; done
	@[ ! -d '$(DESTDIR)$(datadir)' ] || \
		find '$(DESTDIR)$(datadir)' -depth -type d -exec rmdir --ignore-fail-on-non-empty {} +
clean:
	@[ ! -e '$(BUILD)/Makefile' ] || { echo '$(BUILD) is a source folder: not removed'; exit 1; }
	rm -rf '$(BUILD)'

help:
	@echo 'make demo          install what is missing, build, play a recorded job'
	@echo 'make test          install what is missing, build, run every test'
	@echo 'make run           the same, then start the program'
	@echo 'make               build only: $(BUILD)/halfsplit and libhalfsplit.a'
	@echo 'make install       to PREFIX=$(PREFIX), below DESTDIR; make uninstall takes it back'
	@echo 'make bench         measurements, one `name = value unit` a line'
	@echo 'make soak          the long tests'
	@echo 'make sanitize      every test under the address and undefined-behaviour sanitizers'
	@echo 'make coverage      every test, then the lines and branches it reached'
	@echo 'make analyze       gcc -fanalyzer and cppcheck'
	@echo 'make check-layers  no include points upward (part of make and make test)'
	@echo 'make lint          check-layers, shell scripts, manual page'
	@echo 'make clean         remove $(BUILD)'
	@echo
	@echo 'Variables: BUILD, PREFIX, DESTDIR, CC, CPPFLAGS, CFLAGS, LDFLAGS,'
	@echo '           V=release|sanitize|coverage|analyze'

FORCE:
.PHONY: all objects test-programs bench-programs soak-programs run demo test sanitize coverage \
	analyze bench soak check-layers lint install uninstall clean help FORCE
.DELETE_ON_ERROR:
.SECONDARY:
.SUFFIXES:
DEPS = $(LIBOBJ:.o=.d) $(PROGOBJ:.o=.d) $(AIDOBJ:.o=.d) \
       $(patsubst %,%.d,$(TESTS) $(BENCHES) $(SOAKS))
-include $(wildcard $(DEPS))
