// Package misspelt finds what a misspelt word was meant to be. It knows words, not what they mean.
package misspelt

import (
	"cmp"
	"slices"
	"strings"
)

// longest is the number of bytes beyond which a word is no slip of the finger.
const longest = 256

// Nearest gives the known word that a misspelt one probably means: the same but for case, dashes, points and spaces, or else with
// the fewest letters inserted, left out, changed or swapped with a neighbour, or else one that holds it as a word, or else one that
// holds its letters, or else one that begins with the same word. Of equally near ones it is the first. It is empty where none is near.
func Nearest(word string, known []string) string {
	if len(word) > longest {
		return ""
	}
	w := Fold(word)
	best, least := "", longest
	var whole, around, alike string
	first, _, _ := strings.Cut(word, "_")
	for _, k := range known {
		f := Fold(k)
		if f == w {
			return k
		}
		if most := slack(min(len(f), len(w))); most > 0 {
			if d := Distance(w, f, most); d <= most && d < least {
				best, least = k, d
			}
		}
		if len(w) < 4 || len(first) < 4 {
			continue
		}
		if whole == "" && slices.Contains(strings.Split(k, "_"), word) {
			whole = k
		}
		if around == "" && strings.Contains(f, w) {
			around = k
		}
		if alike == "" && first != word && strings.HasPrefix(k, first+"_") {
			alike = k
		}
	}
	return cmp.Or(best, whole, around, alike)
}

// DidYouMean suggests to people the known word nearest to a misspelt one; empty where none is near.
func DidYouMean(word string, known []string) string {
	if near := Nearest(word, known); near != "" {
		return "did you mean " + near + "?"
	}
	return ""
}

// slack is how many letters of a word of n may be wrong: none in words of two, in which every letter tells.
func slack(n int) int {
	switch {
	case n < 3:
		return 0
	case n < 5:
		return 1
	}
	return 2 + n/12
}

// Fold takes out what people vary in spelling a word: case, dashes, points and spaces.
func Fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '-', '_', ' ', '.':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// Distance counts the letters inserted, left out, changed or swapped with a neighbour that turn a into b (optimal string alignment);
// most+1 where there are more than most. O(len(a)·len(b)).
func Distance(a, b string, most int) int {
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
	return min(last[len(y)], most+1)
}
