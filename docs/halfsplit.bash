# Completion for halfsplit in bash: commands, options, and the names that `halfsplit list` prints.

# _halfsplit_ids WHAT: names of that kind for the trees and the machine on the command line.
_halfsplit_ids()
{
	local i args=()
	for ((i = 1; i < COMP_CWORD; i++)); do
		case ${COMP_WORDS[i]} in
		-m | --machine | -t | --trees)
			# "--machine=four" is split by bash into three words.
			if [[ ${COMP_WORDS[i + 1]} == = ]]; then
				args+=("${COMP_WORDS[i]}" "${COMP_WORDS[i + 2]}")
			else
				args+=("${COMP_WORDS[i]}" "${COMP_WORDS[i + 1]}")
			fi ;;
		esac
	done
	"${COMP_WORDS[0]}" list "$1" "${args[@]}" 2>/dev/null | sed 's/ .*//'
}

# The ids of the jobs, in the folder named on the command line if there is one.
_halfsplit_jobs()
{
	local i args=()
	for ((i = 1; i < COMP_CWORD; i++)); do
		case ${COMP_WORDS[i]} in
		-j | --job-dir)
			args=(--job-dir "${COMP_WORDS[i + 1]}")
			[[ ${args[1]} == = ]] && args[1]=${COMP_WORDS[i + 2]} ;;
		esac
	done
	"${COMP_WORDS[0]}" jobs "${args[@]}" 2>/dev/null | sed -n 's/^\([^ ][^ ]*\) .*/\1/p'
}

_halfsplit()
{
	local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} command='' i
	local commands='resume jobs report learn list rank show chart lint machine work'
	local options='--script --machine --trees --job-dir --rates --depth --least --json --html --dot --figures --due --complaint --answer --tool --history
		--circumstance --leads-unmeasured --size-is-right --help --version'

	COMPREPLY=()
	if [[ $word == = ]]; then
		word=
	elif [[ $before == = ]]; then
		before=${COMP_WORDS[COMP_CWORD - 2]}
	fi
	for ((i = 1; i < COMP_CWORD; i++)); do
		case ${COMP_WORDS[i]} in
		resume | jobs | report | learn | list | rank | show | chart | lint | machine | work) command=${COMP_WORDS[i]} ;;
		esac
	done
	case $before in
	-m | --machine) mapfile -t COMPREPLY < <(compgen -W "$(_halfsplit_ids machines)" -- "$word") ;;
	-c | --complaint) mapfile -t COMPREPLY < <(compgen -W "$(_halfsplit_ids symptoms)" -- "$word") ;;
	-a | --answer)
		mapfile -t COMPREPLY < <(compgen -W "$(_halfsplit_ids checks)" -S = -- "$word")
		compopt -o nospace 2>/dev/null ;;
	-s | --script) mapfile -t COMPREPLY < <(compgen -f -- "$word") ;;
	--rates) mapfile -t COMPREPLY < <(compgen -W 'home workshop counter' -- "$word") ;;
	-t | --trees | -j | --job-dir) mapfile -t COMPREPLY < <(compgen -d -- "$word") ;;
	--tool | --history | --circumstance) ;;
	show | chart) mapfile -t COMPREPLY < <(compgen -W "$(_halfsplit_ids symptoms)" -- "$word") ;;
	machine) mapfile -t COMPREPLY < <(compgen -W new -- "$word") ;;
	lint) mapfile -t COMPREPLY < <(compgen -f -- "$word") ;;
	list) mapfile -t COMPREPLY < <(compgen -W 'machines symptoms checks suspects' -- "$word") ;;
	resume | report)
		mapfile -t COMPREPLY < <(compgen -W "$(_halfsplit_jobs)" -- "$word") ;;
	*)
		if [[ $word == -* ]]; then
			mapfile -t COMPREPLY < <(compgen -W "$options" -- "$word")
		elif [[ -z $command ]]; then
			mapfile -t COMPREPLY < <(compgen -W "$commands" -- "$word")
		fi ;;
	esac
}
complete -F _halfsplit halfsplit
