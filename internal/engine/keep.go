package engine

import (
	"context"
	"sync"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/operate"
	"github.com/skidrule/skidrule/internal/rulebook"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

type casesKey struct{}

// Keeping gives a context in which checks keep the cases that they solve, so that a check of the same design with changes solves
// again only what they changed, and the rules as KeepingRules does. The answers are the same.
func Keeping(ctx context.Context) context.Context {
	return context.WithValue(KeepingRules(ctx), casesKey{}, &operate.Kept{})
}

// KeepingRules gives a context in which checks compile each rule of a site, and each rule that a site changes, once for all designs.
// The answers are the same.
func KeepingRules(ctx context.Context) context.Context {
	return context.WithValue(ctx, rulesKey{}, &keptRules{rules: map[string]*rulebook.Compiled{}})
}

type rulesKey struct{}

// mostKeptRules bounds what a caller can make a context keep by other rules in each request.
const mostKeptRules = 2000

// keptRules are rules that were compiled before, by what they and their changes say. It is safe for concurrent use.
type keptRules struct {
	mutex sync.Mutex
	rules map[string]*rulebook.Compiled
}

// compile compiles a rule as [rulebook.Compile] does, or gives it as it was compiled before in the context.
func compile(ctx context.Context, rule *skidrulev1.Rule, change *skidrulev1.RuleChange, site bool) (*rulebook.Compiled, []rulebook.Fault) {
	kept, ok := ctx.Value(rulesKey{}).(*keptRules)
	if !ok {
		return rulebook.Compile(rule, change, site)
	}
	key, err := proto.MarshalOptions{Deterministic: true}.Marshal(&skidrulev1.CheckOptions{SiteRules: []*skidrulev1.Rule{rule}, RuleChanges: []*skidrulev1.RuleChange{change}})
	if err != nil {
		return rulebook.Compile(rule, change, site)
	}
	kept.mutex.Lock()
	have := kept.rules[string(key)]
	kept.mutex.Unlock()
	if have != nil {
		return have, nil
	}
	compiled, faults := rulebook.Compile(rule, change, site)
	if compiled != nil && len(faults) == 0 {
		kept.mutex.Lock()
		if len(kept.rules) < mostKeptRules {
			kept.rules[string(key)] = compiled
		}
		kept.mutex.Unlock()
	}
	return compiled, faults
}
