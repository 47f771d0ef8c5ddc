#!/bin/sh
# The Makefile: works on a bare machine where it can, respects flags, rebuilds when it must.
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"
cd "$root" || exit 1

# Without the variables of the make that runs us.
plain_make() {
	env -u MAKEFLAGS -u MAKELEVEL -u MFLAGS -u V -u BUILD -u CFLAGS -u CPPFLAGS -u LDFLAGS make "$@"
}

bare=$own/bare
mkdir "$bare"
for t in make sh cat find sort echo rm mkdir printf env; do
	ln -s "$(path_of "$t")" "$bare/$t"
done
bare_make() {
	PATH=$bare plain_make "$@"
}
holds "help without compiler and pkg-config" bare_make help
holds "help names the two commands" grep -q 'make demo' "$own/out"
mkdir "$own/old"
holds "clean without compiler and pkg-config" bare_make clean BUILD="$own/old"
fails "clean has removed the folder" test -e "$own/old"
fails "all without pkg-config" bare_make all BUILD="$own/none"
holds "all without pkg-config says what to do" grep -q 'Not found: pkg-config.*make demo' "$own/out"
fails "clean of the source folder is refused" plain_make clean BUILD=.
fails "unknown variant" plain_make objects V=fast BUILD="$own/none"

if ! command -v pkg-config >/dev/null || ! pkg-config --exists libxml-2.0 readline; then
	skip "flags" "libraries are missing"
	finish
fi

dry=$(plain_make -n room-base BUILD="$own/dry" CFLAGS=-DUSER_FLAG CPPFLAGS=-DUSER_CPP)
holds "CFLAGS come last" sh -c 'printf "%s\n" "$1" | grep -q -e "-O2.*-DUSER_CPP -DUSER_FLAG .*-c"' \
	- "$dry"

stamp() {
	stat -c %y "$own/b/engine/base/err.o"
}
room() {
	plain_make -s room-base BUILD="$own/b" CFLAGS="$1"
}
holds "a room alone is built" room -O0
first=$(stamp)
holds "and again" room -O0
same "nothing is rebuilt when nothing changed" "$first" "$(stamp)"
holds "and with other flags" room "-O0 -DOTHER"
fails "everything is rebuilt when the flags change" test "$first" = "$(stamp)"
finish
