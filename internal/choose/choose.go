package choose

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits of a request: common practice, no source.
const (
	defaultResults = 3
	maxResults     = 20
	defaultChecks  = 20_000
	maxChecks      = 100_000
)

// Parts answers a request. The error is an *engine.RequestError for a request that cannot be answered, or the context's.
func Parts(ctx context.Context, e *engine.Engine, request *skidrulev1.ChoosePartsRequest) (*skidrulev1.PartChoices, error) {
	ctx = engine.KeepingRules(ctx)
	c, err := newChooser(ctx, e, request)
	if err != nil {
		return nil, err
	}
	if err := c.lookAtOpen(ctx); err != nil {
		return nil, err
	}
	if len(c.answer.Undecided) > 0 {
		c.answer.Search = &skidrulev1.ChoiceSearch{Combinations: c.combinations().String(), NotProvedBecause: "the design leaves data open that concern the slots; nothing was chosen"}
		return c.answer, nil
	}
	if err := c.screen(ctx); err != nil {
		return nil, err
	}
	s := newSearch(c)
	if err := s.run(ctx); err != nil {
		return nil, err
	}
	if err := c.tell(ctx, s); err != nil {
		return nil, err
	}
	return c.answer, nil
}

// chooser holds one request.
type chooser struct {
	engine  *engine.Engine
	request *skidrulev1.ChoosePartsRequest
	design  *skidrulev1.Design
	measure skidrulev1.ChoiceMeasure
	results int
	checks  int
	slots   []*slot
	slotOf  map[string]int // by tag

	// entries are all parts by id, ofKind those that may be chosen; own and given tell where an entry stands.
	entries    map[string]*skidrulev1.CatalogueEntry
	ofKind     map[plant.Kind][]*skidrulev1.CatalogueEntry
	own, given map[string]bool
	// fixedOwn and fixedGiven are the entries that components other than the slots name.
	fixedOwn, fixedGiven []*skidrulev1.CatalogueEntry

	// rules are those that data of the slots decide, concerned the pairs of rule and thing that do.
	rules     []string
	concerned map[pair]bool
	// standing are findings that stand whatever is chosen, waived those that are accepted.
	standing map[pair]bool
	accepted map[string]bool
	rejected []map[string]*skidrulev1.PartRejections // by slot and rule
	oneCase  []string                                // any one case
	checked  counters
	answer   *skidrulev1.PartChoices
}

// pair is one rule and the thing that it is asked of.
type pair struct{ rule, subject string }

// newChooser reads a request.
func newChooser(ctx context.Context, e *engine.Engine, r *skidrulev1.ChoosePartsRequest) (*chooser, error) {
	c := &chooser{
		engine: e, request: r, design: r.GetDesign(), measure: r.GetMeasure(), results: int(r.GetResults()), checks: int(r.GetMaxChecks()),
		entries: map[string]*skidrulev1.CatalogueEntry{}, ofKind: map[plant.Kind][]*skidrulev1.CatalogueEntry{}, slotOf: map[string]int{},
		own: map[string]bool{}, given: map[string]bool{}, concerned: map[pair]bool{}, standing: map[pair]bool{}, accepted: map[string]bool{},
	}
	if c.measure == skidrulev1.ChoiceMeasure_CHOICE_MEASURE_UNSPECIFIED {
		c.measure = skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER
	}
	var wrong engine.RequestError
	if c.design == nil {
		wrong.Add("design", "", "the request has no design")
	}
	if skidrulev1.ChoiceMeasure_name[int32(c.measure)] == "" {
		wrong.Add("measure", "", "there is no measure %d", int32(c.measure))
	}
	if c.results < 0 || c.results > maxResults {
		wrong.Add("results", "", "%d given, 0 to %d allowed", c.results, maxResults)
	}
	if c.checks < 0 || c.checks > maxChecks {
		wrong.Add("max_checks", "", "%d given, 0 to %d allowed", c.checks, maxChecks)
	}
	if len(r.GetSlots()) > maxSlots {
		wrong.Add("slots", "choose for fewer components at once", "%d slots given, %d allowed", len(r.GetSlots()), maxSlots)
	}
	if err := wrong.Err(); err != nil {
		return nil, err
	}
	if c.results == 0 {
		c.results = defaultResults
	}
	if c.checks == 0 {
		c.checks = defaultChecks
	}
	// The whole is resolved once as it stands, so that what is wrong with it is told with its places.
	if _, err := e.World(ctx, &skidrulev1.CheckDesignRequest{Design: r.GetDesign(), Options: r.GetOptions()}); err != nil {
		return nil, err
	}
	c.gather()
	var err error
	if c.slots, err = c.findSlots(); err != nil {
		return nil, err
	}
	for i, s := range c.slots {
		c.slotOf[s.tag] = i
		c.prepare(s)
		c.rejected = append(c.rejected, map[string]*skidrulev1.PartRejections{})
	}
	c.fixed()
	c.answer = &skidrulev1.PartChoices{DesignName: c.design.GetName(), DesignRevision: c.design.GetRevision(), Version: engine.Version(), Measure: c.measure, Cautions: engine.Cautions()}
	return c, nil
}

// gather lists the parts of all catalogues.
func (c *chooser) gather() {
	take := func(list []*skidrulev1.CatalogueEntry, may bool, from map[string]bool) {
		for _, e := range list {
			if c.entries[e.GetId()] != nil {
				continue
			}
			c.entries[e.GetId()] = e
			if from != nil {
				from[e.GetId()] = true
			}
			if k := plant.KindOf(e.GetData()); may && k != plant.KindNone {
				c.ofKind[k] = append(c.ofKind[k], e)
			}
		}
	}
	take(c.design.GetCatalogue(), true, c.own)
	take(c.request.GetOptions().GetCatalogue().GetEntries(), true, c.given)
	take(catalogue.Demo().GetEntries(), !c.request.GetOwnPartsOnly(), nil)
}

// fixed finds the entries that every check needs.
func (c *chooser) fixed() {
	seen := map[string]bool{}
	for _, q := range c.design.GetComponents() {
		id := q.GetPart()
		if _, chosen := c.slotOf[q.GetTag()]; chosen || id == "" || seen[id] {
			continue
		}
		seen[id] = true
		if c.own[id] {
			c.fixedOwn = append(c.fixedOwn, c.entries[id])
		} else if c.given[id] {
			c.fixedGiven = append(c.fixedGiven, c.entries[id])
		}
	}
}

// open stands for a slot that is left open in an assignment; other numbers are places in the slot's parts.
const open = -1

// allOpen is the assignment that leaves every slot open.
func (c *chooser) allOpen() []int {
	out := make([]int, len(c.slots))
	for i := range out {
		out[i] = open
	}
	return out
}

// check makes the request that checks an assignment, with the options' waivers only where the whole design is asked. Of slots that
// views has, the parts come with a part of their data only.
func (c *chooser) check(assignment []int, whole bool, only, cases []string, views map[int]*view) *skidrulev1.CheckDesignRequest {
	d := &skidrulev1.Design{}
	c.design.ProtoReflect().Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		d.ProtoReflect().Set(f, v)
		return true
	})
	d.Components = slices.Clone(c.design.GetComponents())
	own, given := slices.Clone(c.fixedOwn), slices.Clone(c.fixedGiven)
	for i, s := range c.slots {
		if assignment[i] == open {
			d.Components[s.at] = s.open
			continue
		}
		p := s.parts[assignment[i]]
		d.Components[s.at] = p.component
		if v := views[i]; v != nil {
			entry, _ := v.of(p)
			if slices.ContainsFunc(own, func(e *skidrulev1.CatalogueEntry) bool { return e.GetId() == p.id }) {
				// Another component has the part with all its data, so that this one takes it under a name of its own.
				entry = &skidrulev1.CatalogueEntry{Id: fmt.Sprintf("%s/slot-%d", p.id, i), Title: entry.GetTitle(), Data: entry.GetData()}
				d.Components[s.at] = proto.CloneOf(p.component)
				d.Components[s.at].Part = entry.GetId()
			}
			own = append(own, entry)
			continue
		}
		switch {
		case c.own[p.id] && !slices.Contains(own, p.entry):
			own = append(own, p.entry)
		case c.given[p.id] && !slices.Contains(given, p.entry):
			given = append(given, p.entry)
		}
	}
	d.Catalogue = own
	o := c.request.GetOptions()
	options := &skidrulev1.CheckOptions{
		Only: o.GetOnly(), Skip: o.GetSkip(), CaseIds: o.GetCaseIds(), SiteRules: o.GetSiteRules(), RuleChanges: o.GetRuleChanges(),
		Today: o.GetToday(), StatedOnly: o.GetStatedOnly(),
	}
	if len(given) > 0 {
		options.Catalogue = &skidrulev1.Catalogue{Entries: given}
	}
	if whole {
		options.Waivers, options.Baseline = o.GetWaivers(), o.GetBaseline()
	}
	if len(only) > 0 {
		options.Only, options.Skip = only, nil
	}
	if len(cases) > 0 {
		options.CaseIds = cases
	}
	return &skidrulev1.CheckDesignRequest{Design: d, Options: options}
}

// lookAtOpen checks the design with every slot open: what is broken then stands whatever is chosen, and what cannot be verified
// for lack of a slot's data is what the slots concern.
func (c *chooser) lookAtOpen(ctx context.Context) error {
	report, margins, err := c.engine.CheckOpen(ctx, c.check(c.allOpen(), false, nil, nil, nil), c.byMargin())
	if err != nil {
		return err
	}
	c.checked.open.Add(1)
	if len(report.GetCases()) > 0 {
		c.oneCase = []string{report.GetCases()[0].GetId()}
	}
	rules := map[string]bool{}
	for _, o := range report.GetOutcomes() {
		if o.GetSeverity() > skidrulev1.Severity_SEVERITY_WARNING || o.GetSeverity() == 0 {
			continue
		}
		_, about := c.about(o.GetSubject())
		lacks := slices.ContainsFunc(o.GetMissing(), func(path string) bool { _, ok := c.about(path); return ok })
		key := pair{o.GetRuleId(), o.GetSubject()}
		switch {
		case o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE && (about || lacks):
			c.concerned[key] = true
			rules[o.GetRuleId()] = true
			named := slices.ContainsFunc(o.GetMissing(), func(path string) bool { return !strings.HasPrefix(path, "cases.") })
			if !lacks && named && !c.accepts(o.GetMissing()) {
				c.answer.Undecided = append(c.answer.Undecided, o)
			}
		case o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE:
			// What the design lacks elsewhere may open up once the slots are filled.
			rules[o.GetRuleId()] = true
		case o.GetStatus() == skidrulev1.OutcomeStatus_OUTCOME_STATUS_BROKEN && about:
			rules[o.GetRuleId()] = true
		}
	}
	for _, f := range report.GetFindings() {
		if _, about := c.about(f.GetSubject()); !about && c.grave(f) {
			c.standing[pair{f.GetRuleId(), f.GetSubject()}] = true
		}
	}
	for _, m := range margins {
		if _, about := c.about(m.GetSubject()); about && m.GetStatus() == "met" {
			rules[m.GetRuleId()] = true
		}
	}
	c.rules = slices.Sorted(maps.Keys(rules))
	return nil
}

func (c *chooser) byMargin() bool { return c.measure == skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN }

// tell fills the answer from a search that has ended.
func (c *chooser) tell(ctx context.Context, s *search) error {
	for i, q := range c.slots {
		out := &skidrulev1.ChoiceSlot{Tag: q.tag, Kind: q.kind.String(), Parts: int32(len(q.parts))}
		for _, p := range q.parts {
			if p.alone == nil {
				out.Left++
			}
		}
		out.Rejections = slices.SortedFunc(maps.Values(c.rejected[i]), func(a, b *skidrulev1.PartRejections) int {
			return cmp.Or(cmp.Compare(b.GetParts(), a.GetParts()), cmp.Compare(a.GetRuleId(), b.GetRuleId()), cmp.Compare(a.GetReason(), b.GetReason()))
		})
		c.answer.Slots = append(c.answer.Slots, out)
	}
	for n, found := range s.found {
		choice, err := c.choiceOf(ctx, s, found, n == 0)
		if err != nil {
			return err
		}
		choice.Rank = int32(n + 1)
		c.answer.Choices = append(c.answer.Choices, choice)
	}
	if len(s.found) == 0 {
		if err := c.nearestMiss(ctx, s); err != nil {
			return err
		}
	}
	c.answer.Search = s.account()
	c.answer.Accepted = slices.Sorted(maps.Keys(c.accepted))
	return nil
}

// value is the measure of a choice as people read it.
func (c *chooser) value(k cost) (value float64, dimension string) {
	switch c.measure {
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_POWER:
		return k.first / 1000, "power"
	case skidrulev1.ChoiceMeasure_CHOICE_MEASURE_MARGIN:
		return -k.first, "ratio"
	}
	return k.first, "count"
}

// chosen describes the part of a slot.
func (c *chooser) chosen(i, at int) *skidrulev1.ChosenPart {
	p := c.slots[i].parts[at]
	out := &skidrulev1.ChosenPart{Slot: c.slots[i].tag, Part: p.id, Title: p.title, Size: proto.CloneOf(p.size)}
	if p.power != nil && !math.IsInf(*p.power, 0) {
		out.PowerW = proto.Float64(*p.power)
	}
	return out
}
