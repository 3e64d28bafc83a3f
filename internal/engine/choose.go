package engine

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/misspelt"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// choose gives the rules that a request asks: the built-in ones as the site changes them, its own beside them, less those
// that are not asked. Everything wrong with the choice comes in one error. It ends soon after the context, with its error.
func (e *Engine) choose(ctx context.Context, o *skidrulev1.CheckOptions) ([]*rulebook.Compiled, error) {
	if asItIs(o) {
		return e.book.Rules(), nil
	}
	c := &chooser{until: ctx, engine: e, changes: map[string]*skidrulev1.RuleChange{}}
	c.readChanges(o)
	rules := c.builtIn()
	rules = append(rules, c.site(o)...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	book, err := rulebook.NewBook(rules)
	if err != nil {
		c.wrong.Add("options.site_rules", "", "%v", err)
	}
	if book != nil {
		c.checkWaivers(book, o)
		rules = c.filter(book, o)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return rules, c.wrong.Err()
}

// asItIs tells whether a request asks the built-in rules and nothing else of rules.
func asItIs(o *skidrulev1.CheckOptions) bool {
	return len(o.GetRuleChanges()) == 0 && len(o.GetSiteRules()) == 0 && len(o.GetOnly()) == 0 && len(o.GetSkip()) == 0 && len(o.GetWaivers()) == 0 &&
		o.GetToday() == ""
}

type chooser struct {
	until   context.Context
	engine  *Engine
	changes map[string]*skidrulev1.RuleChange
	wrong   RequestError
}

// ended tells that nobody waits for the answer any more; what is found then is of no use.
func (c *chooser) ended() bool { return c.until.Err() != nil }

// readChanges indexes the site's changes; weakening a rule needs a reason.
func (c *chooser) readChanges(o *skidrulev1.CheckOptions) {
	severity := map[string]skidrulev1.Severity{}
	known := c.engine.book.IDs()
	for _, rule := range c.engine.book.Rules() {
		severity[rule.Rule.GetId()] = rule.Rule.GetSeverity()
	}
	for _, r := range o.GetSiteRules() {
		severity[r.GetId()] = r.GetSeverity()
		known = append(known, r.GetId())
	}
	for i, change := range o.GetRuleChanges() {
		if c.ended() {
			return
		}
		path := fmt.Sprintf("options.rule_changes[%d]", i)
		was, ok := severity[change.GetRuleId()]
		switch {
		case !ok:
			c.wrong.Add(path+".rule_id", misspelt.DidYouMean(change.GetRuleId(), known), "there is no rule %q", change.GetRuleId())
			continue
		case c.changes[change.GetRuleId()] != nil:
			c.wrong.Add(path+".rule_id", "keep one", "two changes are about %s", change.GetRuleId())
			continue
		case change.GetSeverity() > was && strings.TrimSpace(change.GetReason()) == "":
			c.wrong.Add(path+".reason", "say why", "the severity of %s is lowered without a reason", change.GetRuleId())
		}
		c.changes[change.GetRuleId()] = change
	}
}

// builtIn gives the built-in rules, compiled anew where the site changes parameters.
func (c *chooser) builtIn() []*rulebook.Compiled {
	var out []*rulebook.Compiled
	for _, rule := range c.engine.book.Rules() {
		if c.ended() {
			return nil
		}
		change := c.changes[rule.Rule.GetId()]
		if change == nil {
			out = append(out, rule)
			continue
		}
		if len(change.GetParameters()) == 0 {
			changed := *rule
			if change.GetSeverity() != skidrulev1.Severity_SEVERITY_UNSPECIFIED {
				changed.Severity = change.GetSeverity()
			}
			out = append(out, &changed)
			continue
		}
		out = append(out, c.compile(rule.Rule, change, "options.rule_changes", false)...)
	}
	return out
}

// site compiles the site's own rules.
func (c *chooser) site(o *skidrulev1.CheckOptions) []*rulebook.Compiled {
	var out []*rulebook.Compiled
	for i, rule := range o.GetSiteRules() {
		if c.ended() {
			return nil
		}
		if _, taken := c.engine.book.Find(rule.GetId()); taken {
			c.wrong.Add(fmt.Sprintf("options.site_rules[%d].id", i), "give it an id of its own", "a built-in rule has the id %s", rule.GetId())
			continue
		}
		out = append(out, c.compile(rule, c.changes[rule.GetId()], fmt.Sprintf("options.site_rules[%d]", i), true)...)
	}
	return out
}

func (c *chooser) compile(rule *skidrulev1.Rule, change *skidrulev1.RuleChange, path string, site bool) []*rulebook.Compiled {
	compiled, faults := compile(c.until, rule, change, site)
	for _, f := range faults {
		where := ""
		if f.Line > 0 {
			where = fmt.Sprintf(" (line %d, column %d of it)", f.Line, f.Column)
		}
		c.wrong.Add(path+"."+f.Field, "", "%s: %s%s", rule.GetId(), f.Message, where)
	}
	if compiled == nil {
		return nil
	}
	return []*rulebook.Compiled{compiled}
}

// filter applies only and skip; a word that names no rule and no topic is an error.
func (c *chooser) filter(book *rulebook.Book, o *skidrulev1.CheckOptions) []*rulebook.Compiled {
	known := append(book.IDs(), book.Topics()...)
	check := func(field string, words []string) {
		for _, word := range words {
			if c.ended() {
				return
			}
			if !slices.Contains(known, word) {
				c.wrong.Add("options."+field, misspelt.DidYouMean(word, known), "there is no rule and no topic %q", word)
			}
		}
	}
	check("only", o.GetOnly())
	check("skip", o.GetSkip())
	asked := rulebook.Selection{Only: o.GetOnly(), Skip: o.GetSkip()}
	return slices.DeleteFunc(slices.Clone(book.Rules()), func(r *rulebook.Compiled) bool { return !asked.Asks(r.Rule.GetId()) })
}
