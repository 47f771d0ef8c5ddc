#!/bin/sh
# .ci/need on machines that are not this one: every tool it calls is played by a script.
. "${HALFSPLIT_ROOT:-.}/tests/cases.inc"

need=$root/.ci/need
tools=$own/tools
mkdir "$tools"
for t in sh env mktemp tail rm cat printf chmod; do
	ln -s "$(path_of "$t")" "$tools/$t"
done

# tool NAME BODY
tool() {
	printf '#!/bin/sh\n%s\n' "$2" >"$tools/$1"
	chmod +x "$tools/$1"
}
# Runs need on the played machine; the exit status goes to $status.
needs() {
	PATH=$tools "$need" "$@" >"$own/out" 2>&1 </dev/null
	status=$?
}
# apt-get that installs PACKAGE as a command of that name, and writes down what it was asked.
installing_apt="echo \"\$*\" >>$own/asked
case \"\$*\" in *install*) printf '#!/bin/sh\n' >$tools/gadget; chmod +x $tools/gadget ;; esac"
says() {
	holds "$1" grep -q -e "$2" "$own/out"
}
keep_output() {
	cp "$own/out" "$own/said"
}

needs sh
same "nothing is missing: status" 0 "$status"
same "nothing is missing: silence" "" "$(cat "$own/out")"

tool id 'echo 0'
needs gadget
same "no apt-get: status" 69 "$status"
says "no apt-get: the package is named" gadget

tool apt-get "$installing_apt"
needs sh gadget
keep_output
same "root: status" 0 "$status"
holds "root: says what it installs" grep -q 'missing: gadget$' "$own/said"
same "root: the lists were not fetched for nothing" 0 "$(grep -c update "$own/asked")"
holds "root: nothing is asked" grep -q -e '-y --no-install-recommends gadget$' "$own/asked"
needs sh gadget
same "second time: silence" "" "$(cat "$own/out")"
rm -f "$tools/gadget"

# Empty lists: installing works only after an update.
tool apt-get "case \"\$*\" in
*update*) : >$own/updated ;;
*) [ -e $own/updated ] || exit 100
$installing_apt ;;
esac"
needs gadget
same "empty package lists: status" 0 "$status"
rm -f "$tools/gadget"

tool apt-get 'echo "E: Temporary failure resolving"; exit 100'
needs gadget
keep_output
same "no network: status" 69 "$status"
holds "no network: asks about it" grep -q 'network' "$own/said"
holds "no network: shows what apt-get said" grep -q 'Temporary failure' "$own/said"

tool apt-get 'exit 0'
needs gadget
same "installed but not there: status" 69 "$status"

tool id 'echo 1000'
tool apt-get "$installing_apt"
needs gadget
keep_output
same "no root, no sudo: status" 77 "$status"
holds "no root, no sudo: the command is shown" \
	grep -q 'apt-get install --no-install-recommends gadget' "$own/said"

tool sudo 'exit 1'
needs gadget
same "sudo wants a password and nobody is there: status" 77 "$status"

tool sudo '[ "$1" = -n ] && shift; exec "$@"'
tool true ''
needs gadget
same "sudo: status with all its tools" 0 "$status"

needs nothing:command=gadget
same "another command's name" 0 "$status"
needs nothing:file="$tools/gadget"
same "a file" 0 "$status"
needs nothing:gadget
same "a library, without pkg-config: not there" 69 "$status"
tool pkg-config '[ "$*" = "--exists gadget" ]'
needs nothing:gadget
same "a library" 0 "$status"
finish
