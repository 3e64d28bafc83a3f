package suggest

import (
	"context"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Safe looks for edits that a program may make without asking, each a change of the file as it is, by itself.
//
// One class of edits is safe: turning a part round that has one way through it, where the rule is met afterwards, no datum is asked
// for that was not asked for before, and nothing new is wrong. Which way a part lets pass is a property of its kind, and a drawing
// in which it stands against the flow cannot work, so that the edit corrects the drawing and decides nothing.
//
// All other edits decide something and are for people: locking or closing a valve states of the site what nobody looked at; moving a
// part, or taking a way out, changes what is built; another part of a catalogue, and a part that is put in, bring data that nobody
// has chosen.
//
// Errors are those of Propose. Files in another form than YAML have no safe edits.
func (m *Mender) Safe(ctx context.Context) ([]Proposal, error) {
	s := m.first
	if s.editor == nil || s.plant == nil {
		return nil, nil
	}
	var out []Proposal
	left := s.budget()
	asked := map[string]bool{}
	for range maxFindings {
		f := s.next(asked)
		if f == nil {
			break
		}
		asked[f.GetFingerprint()] = true
		for i, c := range s.turns(s.near(f)) {
			if i >= maxCandidates || left <= 0 {
				break
			}
			left--
			t, _, err := s.try(ctx, f, c)
			if err != nil {
				return nil, err
			}
			if t != nil && t.proposal.Status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET && len(t.proposal.Missing)+len(t.proposal.New) == 0 {
				out = append(out, t.proposal)
				break
			}
		}
	}
	return out, nil
}
