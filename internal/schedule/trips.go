package schedule

import (
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// mostEffects is the number of effects that stand as columns of the matrix; where a plant has more, each line of the list names its
// effects in words. A wider matrix is no longer read.
const mostEffects = 60

// trips lists cause and effect: a row for each line, a column for each part that is stopped, closed or opened.
func (l *lister) trips() *skidrulev1.Schedule {
	lines := l.w.CauseAndEffect()
	effects := effectTags(lines)
	t := newTable("Trips: cause and effect")
	t.texts("Cause", "Title", "Condition")
	t.column("Set point", "")
	t.texts("Set point unit", "Acts on", "Acted on by", "Alarm")
	matrix := len(effects) <= mostEffects
	if matrix {
		t.texts(effects...)
	} else {
		t.texts("Stops", "Closes", "Opens")
	}
	for _, a := range lines {
		cause, title := say(a.Action.GetOn()), say("")
		n := instrument{set: not(), actsOn: not()}
		if a.Source >= 0 {
			q := &l.p.Components[a.Source]
			cause, title = say(q.Tag), say(q.Data.GetTitle())
			if read, ok := l.instrument(a.Source); ok {
				n = read
			}
		}
		if a.Action.GetCondition() == skidrulev1.TripCondition_TRIP_CONDITION_AMBIENT_OXYGEN_LOW && n.second != nil {
			n.set = n.second
		}
		owner := l.p.Components[a.Owner].Tag
		cells := []*skidrulev1.ScheduleCell{cause, title,
			choice(a.Action.GetCondition(), "components."+owner+" condition of "+a.Action.GetOn()),
			n.set, unit(n.setIn), n.actsOn, say(owner), yesNo(a.Action.Alarm, "components."+owner+" alarm of "+a.Action.GetOn())}
		if !matrix {
			t.row(append(cells, say(list(a.Action.GetStops())), say(list(a.Action.GetCloses())), say(list(a.Action.GetOpens())))...)
			continue
		}
		for _, tag := range effects {
			cells = append(cells, say(effectOn(a.Action, tag)))
		}
		t.row(cells...)
	}
	return t.out
}

// effectTags lists what any line acts on, in the order in which it is first named.
func effectTags(lines []fact.CauseLine) []string {
	var out []string
	seen := map[string]bool{}
	for _, a := range lines {
		for _, tag := range slices.Concat(a.Action.GetStops(), a.Action.GetCloses(), a.Action.GetOpens()) {
			if !seen[tag] {
				seen[tag] = true
				out = append(out, tag)
			}
		}
	}
	return out
}

// effectOn says what a line does to a part; empty where nothing.
func effectOn(a *skidrulev1.SignalAction, tag string) string {
	switch {
	case slices.Contains(a.GetStops(), tag):
		return "stops"
	case slices.Contains(a.GetCloses(), tag):
		return "closes"
	case slices.Contains(a.GetOpens(), tag):
		return "opens"
	}
	return ""
}
