package rulebook

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"github.com/skidrule/skidrule/internal/fact"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Outcome is what one rule says of one thing in the cases that agree.
type Outcome struct {
	Rule    *Compiled
	Subject int32
	Cases   []int32 // indexes into World.Cases, ascending; nil where the rule does not depend on cases
	Status  skidrulev1.OutcomeStatus
	Missing []fact.Ref
	Assumed []fact.Ref
	Failure string // what went wrong, for a failed rule

	// Of broken outcomes:
	Message  string
	Evidence []*skidrulev1.Evidence
	Path     fact.Path
}

// Answer is what a rule says of everything that it was asked of.
type Answer struct {
	// Outcomes in order of subjects. Unless all were wanted, not applicable ones are left out, and met ones that rest on no assumption.
	Outcomes []Outcome
	// Pairs counts pairs of rule and thing by the worst of their cases.
	Pairs [numStatuses]int
}

// numStatuses is the number of outcome statuses, the unspecified one included.
const numStatuses = int(skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED) + 1

// StatusRank orders statuses so that the worst of a pair's cases speaks for the pair.
var StatusRank = [numStatuses]int{
	skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE: 1,
	skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET:            2,
	skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE: 3,
	skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:         4,
	skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED:         5,
}

// Evaluate asks the rule of everything that it is about, in the chosen cases of the world. It stops with the context's
// error soon after the context ends. With all set the answer holds every outcome.
func (c *Compiled) Evaluate(ctx context.Context, w *fact.World, cases []int32, all bool) (*Answer, error) {
	answer := &Answer{}
	return answer, NewAsker(w).Ask(ctx, c, cases, all, answer)
}

// Asker asks rules of one world, one after the other, in memory that it uses again. It is for one goroutine.
type Asker struct {
	scope           scope
	subjects, cases []int32
}

// NewAsker gives an asker of the world.
func NewAsker(w *fact.World) *Asker { return &Asker{scope: scope{world: w}} }

// Ask adds to the answer what [Compiled.Evaluate] says.
func (a *Asker) Ask(ctx context.Context, c *Compiled, cases []int32, all bool, answer *Answer) error {
	w := a.scope.world
	if !c.ByCase {
		cases = caseless
	} else if len(c.Rule.GetCases()) > 0 {
		a.cases = slices.DeleteFunc(append(a.cases[:0], cases...), func(i int32) bool { return !c.inCase(w.Cases[i].ID) })
		cases = a.cases
	}
	a.scope.bind(c)
	r := &round{rule: c, scope: &a.scope, subjects: c.subjects(w, &a.subjects), cases: cases, all: all, answer: answer, first: len(answer.Outcomes)}
	for !r.run(ctx) {
	}
	return ctx.Err()
}

// subjectsBetweenLooks is how many things are asked about between two looks at the context: a look takes as long as the simplest
// question, and the longest takes some 20 microseconds.
const subjectsBetweenLooks = 32

// caseless is the one case of rules that do not depend on cases.
var caseless = []int32{-1}

// round is one rule being asked of all its things.
type round struct {
	rule     *Compiled
	scope    *scope
	subjects []int32
	cases    []int32
	all      bool
	answer   *Answer

	subject, turn int // places among subjects and cases of what is asked next
	first         int // where the outcomes of the thing begin
	worst         skidrulev1.OutcomeStatus
}

// run asks on from where it stands; false where a fact panicked and the rest is still to be asked. A panic is a defect of ours: it
// must cost one outcome, not the answer.
func (r *round) run(ctx context.Context) (done bool) {
	s, c := r.scope, r.rule
	defer func() {
		if cause := recover(); cause != nil {
			failure := fmt.Sprintf("internal error: %v", cause)
			if err, ok := cause.(error); ok && errors.Is(err, errDivision) {
				failure = err.Error()
			}
			r.note(skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED)
			r.add(Outcome{Rule: c, Status: skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED, Failure: failure})
			r.turn++
		}
	}()
	for ; r.subject < len(r.subjects); r.subject++ {
		if r.subject%subjectsBetweenLooks == 0 && ctx.Err() != nil {
			return true
		}
		s.at.Index = r.subjects[r.subject]
		for ; r.turn < len(r.cases); r.turn++ {
			s.at.Case = r.cases[r.turn]
			v := c.weigh(ctx, s)
			r.note(v.status)
			if r.all || StatusRank[v.status] > StatusRank[skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET] || v.status == skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET && len(s.assumed) > 0 {
				r.add(c.outcome(ctx, s, &v))
			}
		}
		if r.worst != skidrulev1.OutcomeStatus_OUTCOME_STATUS_UNSPECIFIED {
			r.answer.Pairs[r.worst]++
		}
		r.turn, r.first, r.worst = 0, len(r.answer.Outcomes), skidrulev1.OutcomeStatus_OUTCOME_STATUS_UNSPECIFIED
	}
	return true
}

// note keeps the worst status of the thing's cases.
func (r *round) note(status skidrulev1.OutcomeStatus) {
	if StatusRank[status] > StatusRank[r.worst] {
		r.worst = status
	}
}

// add puts an outcome of the thing and case that are asked now beside the thing's others, and tells those that agree as one.
func (r *round) add(o Outcome) {
	o.Subject = r.subjects[r.subject]
	if k := r.cases[r.turn]; k >= 0 {
		for i := r.first; i < len(r.answer.Outcomes); i++ {
			if agreed := &r.answer.Outcomes[i]; agreed.same(&o) {
				agreed.Cases = append(agreed.Cases, k)
				return
			}
		}
		o.Cases = []int32{k}
	}
	r.answer.Outcomes = append(r.answer.Outcomes, o)
}

// inCase tells whether the rule is asked in a case; `all` stands for every case.
func (c *Compiled) inCase(id string) bool {
	return slices.Contains(c.Rule.GetCases(), id) || slices.Contains(c.Rule.GetCases(), "all")
}

// same tells whether two outcomes of one thing can be told as one. Broken ones are told as one even where numbers differ:
// the first case gives the numbers, the others are named.
func (o *Outcome) same(p *Outcome) bool {
	return o.Status == p.Status && slices.Equal(o.Missing, p.Missing) && slices.Equal(o.Assumed, p.Assumed)
}
