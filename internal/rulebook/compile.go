package rulebook

import (
	"fmt"
	"regexp"
	"strings"
	"sync"
	"unicode/utf8"

	"cel.dev/cel-go/cel"
	"cel.dev/cel-go/common/types"

	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Limits on what a rule may cost. A condition is a handful of comparisons; these leave ample room.
const (
	maxExpressionBytes = 4096
	maxExpressionNodes = 400
	maxRecursion       = 40
	siteCostLimit      = 20000 // work units of one evaluation of a site rule
)

// Compiled is a rule ready to be asked. It is read-only and safe for concurrent use.
type Compiled struct {
	Rule     *skidrulev1.Rule
	Severity skidrulev1.Severity
	// ByCase tells whether its outcome may differ between cases.
	ByCase bool
	// OfDesign tells that it is asked of the design as a whole, or rests on sums over it, so that it must not be asked of a lot.
	OfDesign bool
	site     bool // it runs under limits of cost and time

	on        fact.On
	kinds     []plant.Kind
	itType    *types.Type
	specType  *types.Type
	applies   *condition // nil means always
	condition *condition
	message   template
	evidence  []evidence
	path      cel.Program // nil means none
}

// condition is an expression of type bool: as functions where that can be done, and for the interpreter.
type condition struct {
	direct  truthFunc // nil where the interpreter must do it
	program cel.Program
}

// evidence is one compiled evidence template.
type evidence struct {
	label        string
	value, limit cel.Program
}

// template is text with expressions in braces.
type template struct {
	texts []string // one more than programs
	parts []cel.Program
}

var ruleID = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*/[a-z0-9]+(-[a-z0-9]+)*$`)

// onOf maps the schema's subjects to the vocabulary's.
var onOf = map[skidrulev1.RuleSubject]fact.On{
	skidrulev1.RuleSubject_RULE_SUBJECT_COMPONENT: fact.OnComponent,
	skidrulev1.RuleSubject_RULE_SUBJECT_LINE:      fact.OnLine,
	skidrulev1.RuleSubject_RULE_SUBJECT_JOINT:     fact.OnJoint,
	skidrulev1.RuleSubject_RULE_SUBJECT_DESIGN:    fact.OnDesign,
	skidrulev1.RuleSubject_RULE_SUBJECT_PORT:      fact.OnPort,
}

// compiler carries one rule through compilation and gathers every fault of it.
type compiler struct {
	rule   *skidrulev1.Rule
	env    *cel.Env
	words  *vocabulary
	site   bool
	faults []Fault
}

// Compile checks and compiles a rule. The change, which may be nil, is what a site changes of it. Site rules carry a limit
// of cost at run time as well.
func Compile(rule *skidrulev1.Rule, change *skidrulev1.RuleChange, site bool) (*Compiled, []Fault) {
	c := &compiler{rule: rule, site: site}
	c.checkFrame()
	out := &Compiled{Rule: rule, Severity: rule.GetSeverity(), on: onOf[rule.GetSubject()], site: site}
	if change.GetSeverity() != skidrulev1.Severity_SEVERITY_UNSPECIFIED {
		out.Severity = change.GetSeverity()
	}
	for i, name := range rule.GetKinds() {
		kind, ok := plant.KindByName(name)
		if !ok {
			c.fault(fmt.Sprintf("kinds[%d]", i), "%q is no component kind", name)
			continue
		}
		out.kinds = append(out.kinds, kind)
	}
	params, faults := readParameters(rule, change.GetParameters())
	c.faults = append(c.faults, faults...)
	out.itType, out.specType = itType(out.on, out.kinds), specType(out.kinds)
	words, err := newVocabulary(out, params)
	if err != nil {
		c.fault("id", "%v", err)
		return nil, c.faults
	}
	c.words = words
	if c.env, err = newEnv(words); err != nil {
		c.fault("id", "%v", err)
		return nil, c.faults
	}
	if rule.GetAppliesWhen() != "" {
		out.applies = c.condition("applies_when", rule.GetAppliesWhen())
	}
	if rule.GetCondition() == "" {
		c.fault("condition", "the rule has no condition")
	} else {
		out.condition = c.condition("condition", rule.GetCondition())
	}
	out.ByCase = len(rule.GetCases()) > 0 && (words.byCase || strings.Contains(rule.GetCondition()+rule.GetAppliesWhen(), "case_id"))
	out.message = c.template("message", rule.GetMessage())
	for i, e := range rule.GetEvidence() {
		field := fmt.Sprintf("evidence[%d]", i)
		item := evidence{label: e.GetLabel(), value: c.program(field+".value", e.GetValue(), nil)}
		if e.GetLimit() != "" {
			item.limit = c.program(field+".limit", e.GetLimit(), nil)
		}
		out.evidence = append(out.evidence, item)
	}
	if rule.GetPath() != "" {
		out.path = c.program("path", rule.GetPath(), pathType)
	}
	out.OfDesign = out.on == fact.OnDesign || words.summed
	if len(c.faults) > 0 {
		return nil, c.faults
	}
	return out, nil
}

func (c *compiler) fault(field, format string, args ...any) {
	c.faults = append(c.faults, Fault{Field: field, Message: fmt.Sprintf(format, args...)})
}

// checkFrame checks what every rule must state.
func (c *compiler) checkFrame() {
	r := c.rule
	if !ruleID.MatchString(r.GetId()) || len(r.GetId()) > 100 {
		c.fault("id", "%q is not of the form topic/readable-slug", r.GetId())
	}
	for _, s := range [][2]string{{"title", r.GetTitle()}, {"message", r.GetMessage()}, {"why", r.GetWhy()}, {"mend", r.GetMend()}} {
		if strings.TrimSpace(s[1]) == "" {
			c.fault(s[0], "the rule does not state its %s", s[0])
		}
	}
	if len(r.GetSources()) == 0 {
		c.fault("sources", "the rule names no source; where there is none, say: common practice, no source")
	}
	if r.GetSeverity() == skidrulev1.Severity_SEVERITY_UNSPECIFIED {
		c.fault("severity", "the rule does not state a severity")
	}
	if _, ok := onOf[r.GetSubject()]; !ok {
		c.fault("subject", "the rule does not say what it is asked of")
	}
}

// baseEnv holds the functions that every rule may use; building them costs far more than adding one rule's variables.
var baseEnv = sync.OnceValues(func() (*cel.Env, error) {
	options := []cel.EnvOption{
		standardLibrary(),
		cel.Variable("case_id", cel.StringType),
		cel.ParserExpressionSizeLimit(maxExpressionBytes),
		cel.ParserRecursionLimit(maxRecursion),
		cel.ExpressionNodeLimit(maxExpressionNodes),
		countedFunction(),
	}
	options = append(options, numberFunctions()...)
	options = append(options, quantityFunctions()...)
	return cel.NewCustomEnv(options...)
})

// newEnv makes the environment of one rule's expressions.
func newEnv(words *vocabulary) (*cel.Env, error) {
	base, err := baseEnv()
	if err != nil {
		return nil, err
	}
	return base.Extend(
		cel.CustomTypeProvider(words), cel.CustomTypeAdapter(words),
		cel.Variable("it", words.rule.itType),
		cel.Variable("spec", words.rule.specType),
		cel.Variable("basis", basisType),
		cel.Variable("design", designType),
		cel.Variable("param", paramType),
	)
}

// condition compiles an expression of type bool.
func (c *compiler) condition(field, text string) *condition {
	checked, program := c.compile(field, text, types.BoolType)
	if program == nil {
		return nil
	}
	return &condition{direct: direct(c.words, checked), program: program}
}

// program compiles one expression to the wanted type; nil takes any type that can be shown.
func (c *compiler) program(field, text string, want *types.Type) cel.Program {
	_, program := c.compile(field, text, want)
	return program
}

func (c *compiler) compile(field, text string, want *types.Type) (*cel.Ast, cel.Program) {
	ast, issues := c.env.Compile(text)
	if issues.Err() != nil {
		for _, e := range issues.Errors() {
			c.faults = append(c.faults, Fault{Field: field, Line: e.Location.Line(), Column: e.Location.Column() + 1, Message: operatorWords.Replace(e.Message)})
		}
		return nil, nil
	}
	if want != nil && !ast.OutputType().IsExactType(want) {
		c.fault(field, "the expression gives a %s, not a %s", ast.OutputType().TypeName(), want.TypeName())
		return nil, nil
	}
	var options []cel.ProgramOption
	if c.site {
		options = append(options, cel.CostLimit(siteCostLimit), cel.InterruptCheckFrequency(100))
	}
	program, err := c.env.Program(ast, options...)
	if err != nil {
		c.fault(field, "%v", err)
		return nil, nil
	}
	return ast, program
}

// operatorWords turn the compiler's words into an engineer's.
var operatorWords = strings.NewReplacer(
	"'_>=_'", "'>='", "'_<=_'", "'<='", "'_>_'", "'>'", "'_<_'", "'<'", "'_+_'", "'+'", "'_-_'", "'-'", "'_*_'", "'*'", "'_/_'", "'/'",
	"found no matching overload for", "cannot apply", "applied to", "to",
)

// template compiles the expressions in braces.
func (c *compiler) template(field, text string) template {
	var t template
	for rest := text; ; {
		open := strings.IndexByte(rest, '{')
		if open < 0 {
			t.texts = append(t.texts, rest)
			return t
		}
		end := strings.IndexByte(rest[open:], '}')
		if end < 0 {
			c.fault(field, "a { has no matching }")
			t.texts = append(t.texts, rest)
			return t
		}
		t.texts = append(t.texts, rest[:open])
		told := len(c.faults)
		t.parts = append(t.parts, c.program(field, rest[open+1:open+end], nil))
		rest = rest[open+end+1:]
		c.shift(told, text[:len(text)-len(rest)-end])
	}
}

// shift places the faults from one on, which count from the beginning of a part of a text, behind what stands before that part.
func (c *compiler) shift(from int, before string) {
	lines := strings.Count(before, "\n")
	column := utf8.RuneCountInString(before[strings.LastIndexByte(before, '\n')+1:])
	for i := range c.faults[from:] {
		f := &c.faults[from+i]
		if f.Line == 0 {
			continue
		}
		if f.Line == 1 {
			f.Column += column
		}
		f.Line += lines
	}
}
