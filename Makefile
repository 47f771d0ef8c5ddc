# halfsplit - GNU make.  `make help` lists the targets.
PREFIX  ?= /usr/local
BUILD   ?= build
V       ?= release
INSTALL ?= install

PKGS  = libxml-2.0 readline
ROOMS = $(shell cat engine/LAYERS)

try  = $(shell echo 'int main(void){return 0;}' | $(CC) -Werror $(1) -x c - -o /dev/null >/dev/null 2>&1 && echo '$(1)')
WARN = -std=c11 -D_GNU_SOURCE -Wall -Wextra -Wformat=2 -Wshadow -Wvla -Wundef -Wcast-qual \
       -Wwrite-strings -Wstrict-prototypes -Wmissing-prototypes -Wnull-dereference \
       -Wimplicit-fallthrough -Wconversion -Wsign-conversion \
       -Werror=implicit -Werror=incompatible-pointer-types -Werror=int-conversion

OPT.release  = -O2 -g
OPT.sanitize = -O1 -g -fno-omit-frame-pointer -fsanitize=address,undefined -fno-sanitize-recover=all
OPT.coverage = -O0 -g --coverage
OPT.analyze  = -O1 -fanalyzer -Werror
LNK.sanitize = -fsanitize=address,undefined
LNK.coverage = --coverage
ifeq ($(V),release)
HARD := -U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2 -fstack-protector-strong $(call try,-fstack-clash-protection) $(call try,-fcf-protection=full) -fPIE
LHARD = -pie -Wl,-z,relro -Wl,-z,now
endif

# Floating point must not depend on the compiler: no contraction, no fast-math.
ALLC = $(WARN) $(OPT.$(V)) $(HARD) -ffp-contract=off -ffile-prefix-map=$(CURDIR)=. -MMD -MP -Iengine -Iinclude \
       $(shell pkg-config --cflags $(PKGS)) $(CPPFLAGS) $(CFLAGS)
ALLL = $(LNK.$(V)) $(LHARD) $(LDFLAGS)
LIBS = $(shell pkg-config --libs $(PKGS)) -lm

LIBSRC  = $(sort $(foreach r,$(filter-out talk,$(ROOMS)),$(wildcard engine/$(r)/*.c)) $(wildcard engine/halfsplit.c))
PROGSRC = $(sort $(wildcard engine/talk/*.c)) engine/main.c
LIBOBJ  = $(LIBSRC:%.c=$(BUILD)/%.o)
PROGOBJ = $(PROGSRC:%.c=$(BUILD)/%.o)
TESTS   = $(patsubst %.c,$(BUILD)/%,$(sort $(wildcard tests/test_*.c)))

all: $(BUILD)/halfsplit

$(BUILD)/%.o: %.c
	@mkdir -p $(@D)
	$(CC) $(ALLC) -c $< -o $@
$(BUILD)/libhalfsplit.a: $(LIBOBJ)
	rm -f $@
	ar rcs $@ $^
$(BUILD)/halfsplit: $(PROGOBJ) $(BUILD)/libhalfsplit.a
	$(CC) $(ALLL) $^ $(LIBS) -o $@
$(BUILD)/tests/test_%: $(BUILD)/tests/test_%.o $(BUILD)/libhalfsplit.a
	$(CC) $(ALLL) $^ $(LIBS) -lcmocka -o $@
room-%:
	@$(MAKE) --no-print-directory $(patsubst %.c,$(BUILD)/%.o,$(wildcard engine/$*/*.c))
clean:
	rm -rf build
.PHONY: all clean
.DELETE_ON_ERROR:
.SECONDARY:
-include $(shell [ -d $(BUILD) ] && find $(BUILD) -name '*.d')
