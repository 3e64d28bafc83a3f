package rulebook

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
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

// subjects lists the things that the rule is asked of. The list is shared, or lies in the room given: it must not be changed, and holds
// until the room is used again.
func (c *Compiled) subjects(w *fact.World, room *[]int32) []int32 {
	p := w.Plant
	switch c.on {
	case fact.OnDesign:
		return w.Indexes(1)
	case fact.OnLine:
		return w.Indexes(len(p.Lines))
	case fact.OnJoint:
		return w.Indexes(w.NumJoints())
	case fact.OnPort:
		if len(c.kinds) == 0 {
			return w.Indexes(len(p.Ports))
		}
		list := (*room)[:0]
		for i := range p.Components {
			at := &p.Components[i]
			if !slices.Contains(c.kinds, at.Kind) {
				continue
			}
			for q := at.FirstPort; q < at.FirstPort+at.NumPorts; q++ {
				list = append(list, q)
			}
		}
		*room = list
		return list
	}
	switch len(c.kinds) {
	case 0:
		return w.Indexes(len(p.Components))
	case 1:
		return w.OfKind(c.kinds[0])
	}
	list := (*room)[:0]
	for _, k := range c.kinds {
		list = append(list, w.OfKind(k)...)
	}
	slices.Sort(list)
	*room = list
	return list
}

// Answer is what a rule says of everything that it was asked of.
type Answer struct {
	// Outcomes in order of subjects. Unless all were wanted, not applicable ones are left out, and met ones that rest on no assumption.
	Outcomes []Outcome
	// Pairs counts pairs of rule and thing by the worst of their cases.
	Pairs [skidruleStatuses]int
}

// skidruleStatuses is the number of outcome statuses, the unspecified one included.
const skidruleStatuses = int(skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED) + 1

// StatusRank orders statuses so that the worst of a pair's cases speaks for the pair.
var StatusRank = [skidruleStatuses]int{
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
	r := &round{rule: c, scope: &a.scope, subjects: c.subjects(w, &a.subjects), cases: cases, all: all, answer: answer}
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

// add puts an outcome of the thing and case that are asked now beside the thing's others.
func (r *round) add(o Outcome) {
	o.Subject = r.subjects[r.subject]
	r.answer.add(r.first, o, r.cases[r.turn])
}

// add puts an outcome beside the others of its thing, which begin at first, and tells those that agree as one.
func (a *Answer) add(first int, o Outcome, k int32) {
	if k >= 0 {
		for i := first; i < len(a.Outcomes); i++ {
			if a.Outcomes[i].same(&o) {
				a.Outcomes[i].Cases = append(a.Outcomes[i].Cases, k)
				return
			}
		}
		o.Cases = []int32{k}
	}
	a.Outcomes = append(a.Outcomes, o)
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

// verdict is what a condition comes to for one thing in one case.
type verdict struct {
	status         skidrulev1.OutcomeStatus
	applies, holds fact.Truth
	err            error
}

// weigh evaluates the rule once.
func (c *Compiled) weigh(ctx context.Context, s *scope) (v verdict) {
	s.assumed = nil
	v.applies.Value = fact.True
	if c.applies != nil {
		switch v.applies, v.err = c.decide(ctx, c.applies, s); {
		case v.err != nil:
			v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED
			return v
		case v.applies.Value == fact.False:
			v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE
			return v
		}
	}
	v.holds, v.err = c.decide(ctx, c.condition, s)
	switch {
	case v.err != nil:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED
	case v.holds.Value == fact.True:
		// Whether the rule applies does not matter where its condition holds anyway.
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_MET
	case v.holds.Value == fact.Undecided || v.applies.Value == fact.Undecided:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE
	default:
		v.status = skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN
	}
	return v
}

// outcome says in full what a verdict means.
func (c *Compiled) outcome(ctx context.Context, s *scope, v *verdict) Outcome {
	o := Outcome{Rule: c, Status: v.status}
	switch v.status {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED:
		o.Failure = v.err.Error()
		return o
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_APPLICABLE:
		return o
	}
	o.Assumed = s.assumed
	switch v.status {
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
		for _, t := range [2]fact.Truth{v.applies, v.holds} {
			if t.Value != fact.Undecided {
				continue
			}
			if len(t.Missing) == 0 {
				// No missing datum leaves it open: an assumed range does, or the model's own uncertainty.
				t.Missing = t.Assumed
			}
			o.Missing = fact.JoinRefs(o.Missing, t.Missing)
		}
	case skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN:
		c.describe(ctx, s, &o)
	}
	return o
}

// decide evaluates a condition, by its functions where it has them.
func (c *Compiled) decide(ctx context.Context, k *condition, s *scope) (fact.Truth, error) {
	if k.direct != nil {
		return k.direct(s), nil
	}
	value, err := c.eval(ctx, k.program, s)
	if err != nil {
		return fact.Truth{}, err
	}
	switch v := value.(type) {
	case types.Bool:
		return fact.Is(bool(v)), nil
	case *types.Unknown:
		return fact.Open(missingOf(v)...), nil
	}
	return fact.Truth{}, fmt.Errorf("the condition gives %s instead of true or false", value.Type().TypeName())
}

// eval runs one program. An unknown that swallowed an error would hide a broken rule, so a condition that comes out unknown
// is told apart from a failed one by its own error value only where no part of it failed; parts cannot fail silently because
// numbers report division by zero as an error of their own.
func (c *Compiled) eval(ctx context.Context, p cel.Program, s *scope) (ref.Val, error) {
	var value ref.Val
	var err error
	if ctx.Done() != nil && c.site {
		value, _, err = p.ContextEval(ctx, s)
	} else {
		value, _, err = p.Eval(s)
	}
	if err != nil {
		return nil, err
	}
	if types.IsError(value) {
		return nil, fmt.Errorf("%v", value)
	}
	return value, nil
}

// describe fills message, evidence and path of a broken outcome. Where a template fails the rule's title stands in, so that
// a finding is never lost to its wording.
func (c *Compiled) describe(ctx context.Context, s *scope, o *Outcome) {
	var b strings.Builder
	b.WriteString(c.message.texts[0])
	for i, part := range c.message.parts {
		value, err := c.eval(ctx, part, s)
		if err != nil {
			b.Reset()
			b.WriteString(c.Rule.GetTitle() + " does not hold")
			break
		}
		b.WriteString(show(value))
		b.WriteString(c.message.texts[i+1])
	}
	o.Message = b.String()
	for _, e := range c.evidence {
		item := &skidrulev1.Evidence{Label: e.label}
		if value, err := c.eval(ctx, e.value, s); err == nil {
			fillEvidence(item, value)
		}
		if e.limit != nil {
			if limit, err := c.eval(ctx, e.limit, s); err == nil {
				fillLimit(item, limit)
			}
		}
		o.Evidence = append(o.Evidence, item)
	}
	if c.path != nil {
		if value, err := c.eval(ctx, c.path, s); err == nil {
			if p, ok := value.(*pathValue); ok {
				o.Path = p.Path
			}
		}
	}
}

// show prints a value inside a message.
func show(v ref.Val) string {
	switch x := v.(type) {
	case *number:
		return formatNumber(x.dimension, x.Number, quantity.Metric)
	case types.String:
		return string(x)
	case types.Bool:
		if x {
			return "yes"
		}
		return "no"
	case *types.Unknown:
		return "not known"
	}
	return fmt.Sprint(v.Value())
}

func fillEvidence(e *skidrulev1.Evidence, v ref.Val) {
	x, ok := v.(*number)
	if !ok {
		e.Dimension, e.Text = "text", show(v)
		return
	}
	e.Dimension = x.Type().TypeName()
	if isFinite(x.Low) {
		e.Value = &x.Low
	}
	if x.High != x.Low && isFinite(x.High) {
		e.ValueHigh = &x.High
	}
	if !isFinite(x.Low) || !isFinite(x.High) {
		// A range open at one end must not read as a single value.
		e.Text = formatNumber(x.dimension, x.Number, quantity.Metric)
	}
}

func fillLimit(e *skidrulev1.Evidence, v ref.Val) {
	if x, ok := asNumber(v); ok && x.Known() && isFinite(x.Low) {
		e.Limit = &x.Low
		if e.Dimension == "" || e.Dimension == "text" {
			e.Dimension = "count"
		}
		return
	}
	e.LimitText = show(v)
}

// missingOf reads the data that an unknown names.
func missingOf(u *types.Unknown) []fact.Ref {
	var out []fact.Ref
	for _, id := range u.IDs() {
		trails, _ := u.GetAttributeTrails(id)
		for _, t := range trails {
			if r, ok := decodeRef(t.Variable()); ok {
				out = fact.JoinRefs(out, []fact.Ref{r})
			}
		}
	}
	return out
}

// Paths spells data by element path, sorted.
func Paths(refs []fact.Ref, p *plant.Plant) []string {
	if len(refs) == 0 {
		return nil
	}
	out := make([]string, len(refs))
	for i, r := range refs {
		out[i] = r.Path(p)
	}
	sort.Strings(out)
	return slices.Compact(out)
}

// SubjectPath is the element path of a thing that the rule is asked of.
func (c *Compiled) SubjectPath(w *fact.World, subject int32) string {
	p := w.Plant
	switch c.on {
	case fact.OnDesign:
		return "design"
	case fact.OnLine:
		return "lines." + p.Lines[subject].Tag
	case fact.OnJoint:
		j := w.Joint(subject)
		return "lines." + p.Lines[j.Line].Tag + " at " + p.PortLabel(j.Port)
	case fact.OnPort:
		return "components." + p.Components[p.Ports[subject].Component].Tag + ".ports." + p.PortName(subject)
	}
	return "components." + p.Components[subject].Tag
}
