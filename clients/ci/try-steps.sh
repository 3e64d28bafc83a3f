#!/bin/bash
# Runs the steps of a recipe in a folder, as its CI system would, with the skidrule that PATH finds. Steps that install it or
# that only the CI system can do are left out. The exit code is that of the first step that fails.
#
#   try-steps.sh RECIPE FOLDER
set -euo pipefail
(($# == 2)) || { echo "say: try-steps.sh RECIPE FOLDER" >&2; exit 2; }
recipe=$(realpath "$1")
cd "$2"

# block gives the lines of a block: those after a line, as long as they stand deeper.
block() {
	awk -v key="$1" '
		!inside && $0 ~ key { inside = 1; match($0, /^ */); depth = RLENGTH; next }
		inside { if ($0 ~ /^ *$/) next; match($0, /^ */); if (RLENGTH <= depth) exit; print }
	' "$2"
}

failed=0
# step runs a script in a shell of its own; after a failure only those that the recipe wants always.
step() {
	local name=$1 always=$2 script=$3 code=0
	((failed == 0 || always)) || { echo "-- $name: left out" >&2; return; }
	bash -euo pipefail -c "$script" || code=$?
	echo "-- $name: $code" >&2
	((failed)) || failed=$code
}

case $(basename "$recipe") in
github-actions.yml)
	export GITHUB_STEP_SUMMARY=${GITHUB_STEP_SUMMARY:-$PWD/step-summary.md}
	name='' always=0 script='' inside=0
	flush() {
		[[ -z $script || $script == *'go install'* ]] || step "$name" "$always" "$script"
		name='' always=0 script='' inside=0
	}
	while IFS= read -r line; do
		case $line in
		'      - '*) flush; name=${line#*name: } ;;
		'        if: always()') always=1; inside=0 ;;
		'        run: |') inside=1 ;;
		'        run: '*) script=${line#*run: } ;;
		'          '*) ((inside)) && script+=${line#'          '}$'\n' ;;
		*) inside=0 ;;
		esac
	done < <(block '^    steps:' "$recipe")
	flush
	;;
gitlab-ci.yml)
	while IFS= read -r line; do
		step "${line#*- }" 0 "${line#*- }"
	done < <(block '^  script:' "$recipe")
	;;
pre-commit)
	step hook 0 "$recipe"
	;;
pre-commit-hooks.yaml)
	entry=$(sed -n 's/^  entry: //p' "$recipe")
	pattern=$(sed -n 's/^  files: //p' "$recipe")
	step hook 0 "git ls-files -z | grep -zE '$pattern' | xargs -0 $entry"
	;;
*)
	echo "no recipe: $recipe" >&2
	exit 2
	;;
esac
exit "$failed"
