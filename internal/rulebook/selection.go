package rulebook

import (
	"slices"
	"strings"
)

// Selection tells which rules are asked, by their ids or their topics.
type Selection struct {
	// Only are those that are asked; all where there are none.
	Only []string
	// Skip are those that are not asked, though Only names them.
	Skip []string
}

// Asks tells whether the rule of an id is asked.
func (s Selection) Asks(id string) bool {
	named := func(words []string) bool { return slices.Contains(words, id) || slices.Contains(words, Topic(id)) }
	return (len(s.Only) == 0 || named(s.Only)) && !named(s.Skip)
}

// Topic is the topic of a rule's id.
func Topic(id string) string {
	topic, _, _ := strings.Cut(id, "/")
	return topic
}
