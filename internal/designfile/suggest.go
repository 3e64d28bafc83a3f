package designfile

import (
	"slices"
	"strings"
)

// fold removes what people vary in spelling a key: case, dashes, spaces.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '-', '_', ' ', '.':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// nearest returns the known word that a misspelt one probably means: at most
// two letters inserted, left out, changed or swapped, and fewer in short words.
// It returns the empty text when nothing is near.
func nearest(word string, known []string) string {
	if len(word) > 4*maxTag {
		return ""
	}
	best, least := "", 3
	w := fold(word)
	for _, k := range known {
		f := fold(k)
		if f == w {
			return k
		}
		most := 2
		if shorter := min(len(f), len(w)); shorter < 3 {
			most = 0
		} else if shorter < 5 {
			most = 1
		}
		if d := editDistance(w, f, most); d <= most && d < least {
			best, least = k, d
		}
	}
	return best
}

// editDistance counts the insertions, deletions, changes and swaps of
// neighbours that turn a into b (optimal string alignment). It returns most+1
// when there are more than most.
func editDistance(a, b string, most int) int {
	x, y := []rune(a), []rune(b)
	if len(x)-len(y) > most || len(y)-len(x) > most {
		return most + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			change := last[j-1]
			if x[i-1] != y[j-1] {
				change++
			}
			row[j] = min(change, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		if slices.Min(row) > most {
			return most + 1
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}

// didYouMean returns a suggestion for a misspelt word: the nearest known one,
// or else the known ones.
func didYouMean(word string, known []string) string {
	if near := nearest(word, known); near != "" {
		return "did you mean " + quote(near) + "?"
	}
	return "known are " + list(known, 40)
}

// list joins names for people and says how many it leaves out.
func list(names []string, most int) string {
	if len(names) == 0 {
		return "none"
	}
	if len(names) > most {
		return strings.Join(names[:most], ", ") + ", ..."
	}
	return strings.Join(names, ", ")
}

// quote marks a word of the user's in a message and shortens a very long one.
func quote(s string) string {
	const most = 80
	if len(s) > most {
		s = strings.ToValidUTF8(s[:most], "") + "..."
	}
	return "\"" + strings.NewReplacer("\n", `\n`, "\r", `\r`, "\t", `\t`).Replace(s) + "\""
}
