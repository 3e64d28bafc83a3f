package main

import (
	"bufio"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/fact"
	"github.com/skidrule/skidrule/internal/plant"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// vocable is one name that expressions of rules may use.
type vocable struct {
	// Name as an expression spells it, such as it.max_pressure.
	Name string `json:"name"`
	// Subject is what the rule must be asked of; empty where it does not matter.
	Subject string `json:"subject,omitempty"`
	// Kinds that the rule must be about; empty means any.
	Kinds []string `json:"kinds,omitempty"`
	// Type: count, truth, text, texts, path, or the dimension of a number.
	Type string `json:"type"`
	// Unit is the SI unit of the dimension.
	Unit string `json:"unit,omitempty"`
	// Computed tells facts that are worked out from data that the design states.
	Computed bool `json:"computed"`
	ByCase   bool `json:"by_case,omitempty"`
	// Words are the values of a text with a fixed list of them.
	Words []string `json:"words,omitempty"`
	// Doc says what it is; a datum that designs state has an example of its value in its place.
	Doc string `json:"doc,omitempty"`
	// Example is a condition with it.
	Example string `json:"example"`
}

// callable is one function or operator of expressions.
type callable struct {
	Name    string `json:"name"`
	Doc     string `json:"doc"`
	Example string `json:"example"`
}

// glossary is everything that expressions of rules may use.
type glossary struct {
	Version   string     `json:"skidrule_vocabulary"`
	Types     []numeral  `json:"types"`
	Functions []callable `json:"functions"`
	Terms     []vocable  `json:"terms"`
}

// numeral is one type of number.
type numeral struct {
	Name  string   `json:"name"`
	Doc   string   `json:"doc"`
	Unit  string   `json:"unit"`
	Units []string `json:"units"`
}

func newVocabulary(s *surroundings) *cobra.Command {
	var format, kind string
	cmd := &cobra.Command{
		Use:   "vocabulary",
		Short: "List the data and functions that rules of your own may use",
		Long: `vocabulary writes the reference of everything that conditions and messages of rules may use: what designs state, what is
worked out from it, types with their units, and functions. It is made from the same lists that rules are compiled with.`,
		Example: `  skidrule vocabulary > vocabulary.md
  skidrule vocabulary --kind check_valve`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			if err := oneOf("format", format, "markdown", "json"); err != nil {
				return err
			}
			g := newGlossary()
			if kind != "" {
				if _, ok := plant.KindByName(kind); !ok {
					return fmt.Errorf("there is no kind %q; kinds are %s", kind, strings.Join(kindNames(plant.Kinds()), ", "))
				}
				g.Terms = slices.DeleteFunc(g.Terms, func(t vocable) bool {
					return t.Subject == "line" || t.Subject == "joint" || len(t.Kinds) > 0 && !slices.Contains(t.Kinds, kind)
				})
			}
			if format == "json" {
				e := json.NewEncoder(s.Out)
				e.SetEscapeHTML(false)
				e.SetIndent("", "  ")
				return e.Encode(g)
			}
			return g.markdown(s.Out)
		},
	}
	cmd.Flags().StringVar(&format, "format", "markdown", "format: markdown or json")
	cmd.Flags().StringVar(&kind, "kind", "", "component `kind` whose data are wanted; all where it is not given")
	return cmd
}

func kindNames(kinds []plant.Kind) []string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = k.String()
	}
	return out
}

// newGlossary gathers the vocabulary.
func newGlossary() *glossary {
	g := &glossary{Version: designfile.Version, Functions: functionsOfRules()}
	for _, d := range quantity.Dimensions() {
		g.Types = append(g.Types, numeral{d.Name(), d.Noun(), d.SI(), d.Units()})
	}
	subjects := map[fact.On]string{fact.OnComponent: "component", fact.OnLine: "line", fact.OnJoint: "joint", fact.OnPort: "port", fact.OnDesign: ""}
	taken := map[string]bool{}
	for _, d := range fact.Definitions() {
		t := vocable{Name: "it." + d.Name, Subject: subjects[d.On], Kinds: kindNames(d.Kinds), Computed: true, ByCase: d.ByCase, Doc: d.Doc}
		if d.On == fact.OnDesign {
			t.Name = "design." + d.Name
		}
		switch d.Class {
		case fact.ClassQuantity:
			t.Type, t.Unit = d.Dimension.Name(), d.Dimension.SI()
			t.Example = t.Name + " <= " + constant(d.Dimension, "")
		case fact.ClassCount:
			t.Type, t.Example = "count", t.Name+" >= 1"
		case fact.ClassTruth:
			t.Type, t.Example = "truth", t.Name
		case fact.ClassText:
			t.Type, t.Example = "text", t.Name+` == "word"`
		case fact.ClassPath:
			t.Type, t.Example = "path", "path: "+t.Name
		}
		taken[t.Subject+" "+t.Name] = true
		g.Terms = append(g.Terms, t)
	}
	stated := func(m protoreflect.MessageDescriptor, prefix, subject string, kinds []string) {
		for i := range m.Fields().Len() {
			t, ok := statedTerm(m.Fields().Get(i), prefix)
			if t.Subject, t.Kinds = subject, kinds; ok && !taken[subject+" "+t.Name] {
				g.Terms = append(g.Terms, t)
			}
		}
	}
	stated((&skidrulev1.Component{}).ProtoReflect().Descriptor(), "it.", "component", nil)
	stated((&skidrulev1.Line{}).ProtoReflect().Descriptor(), "it.", "line", nil)
	stated((&skidrulev1.Basis{}).ProtoReflect().Descriptor(), "basis.", "", nil)
	for _, k := range plant.Kinds() {
		stated(k.Info().Field.Message(), "spec.", "component", []string{k.String()})
	}
	slices.SortStableFunc(g.Terms, func(a, b vocable) int {
		return cmp.Or(cmp.Compare(a.Subject, b.Subject), cmp.Compare(b2i(strings.HasPrefix(a.Name, "spec.")), b2i(strings.HasPrefix(b.Name, "spec."))),
			slices.Compare(specKinds(a), specKinds(b)), cmp.Compare(a.Name, b.Name))
	})
	return g
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// specKinds keeps the data of one kind together.
func specKinds(t vocable) []string {
	if strings.HasPrefix(t.Name, "spec.") {
		return t.Kinds
	}
	return nil
}

// constant spells a number of a dimension in an expression.
func constant(d quantity.Dimension, example string) string {
	if _, err := quantity.Parse(example, d); err != nil {
		example = "1 " + d.SI()
		if _, err := quantity.Parse(example, d); err != nil {
			example = "1"
		}
	}
	return fmt.Sprintf("%s(%q)", d.Name(), example)
}

// statedTerm is a datum that designs state; false for one that expressions cannot read.
func statedTerm(f protoreflect.FieldDescriptor, prefix string) (vocable, bool) {
	t := vocable{Name: prefix + designfile.Key(f)}
	example := designfile.Example(f)
	if example != "" {
		t.Doc = "stated as " + example
	}
	switch {
	case f.IsMap(), f.IsList() && f.Kind() != protoreflect.StringKind:
		return t, false
	case f.IsList():
		t.Type, t.Example = "texts", fmt.Sprintf("%q in %s", "word", t.Name)
	case f.Kind() == protoreflect.DoubleKind:
		d, ok := designfile.FieldDimension(f)
		if !ok {
			return t, false
		}
		t.Type, t.Unit, t.Example = d.Name(), d.SI(), t.Name+" <= "+constant(d, example)
	case f.Kind() == protoreflect.Int32Kind:
		t.Type, t.Example = "count", t.Name+" >= 1"
	case f.Kind() == protoreflect.BoolKind:
		t.Type, t.Example = "truth", t.Name
	case f.Kind() == protoreflect.EnumKind:
		t.Words = designfile.EnumNames(f.Enum())
		t.Type, t.Example = "text", fmt.Sprintf("%s == %q", t.Name, t.Words[0])
	case f.Kind() == protoreflect.StringKind:
		t.Type, t.Example = "text", t.Name+` == "word"`
	default:
		return t, false
	}
	return t, true
}

// functionsOfRules lists what expressions may call. Constructors of numbers are named after their types.
func functionsOfRules() []callable {
	list := []callable{
		{"a && b, a || b, !a, a ? b : c", "logic; what is open stays open unless the other side decides it", "it.flooded && !it.drained"},
		{"==, !=", "equality of texts and truths; of counts", `it.service == "ozone_gas"`},
		{"<, <=, >, >=", "order of two numbers of one type; a range that overlaps the limit leaves it open", `it.max_pressure >= pressure_gauge("5 bar(g)")`},
		{"in", "membership in a list of texts", `it.tag in ["CV-1", "CV-2"]`},
		{"+, -", "sum and difference of numbers of one type; a level plus or minus a difference is a level, and the difference of two levels is a difference", "basis.water_temperature + param.margin"},
		{"*, /", "a number times or by a plain number or a ratio; two numbers of one type give a ratio", "param.share * it.max_pressure"},
		{"larger(a, b), lesser(a, b)", "the larger and the lesser of two numbers of one type", "larger(it.max_pressure, param.least)"},
		{"counted(n, one, many)", "a count with its noun, for messages", `counted(it.barriers, "barrier", "barriers")`},
		{"param.NAME", "a parameter of the rule, of the dimension that it states", "it.max_pressure >= param.least_rating"},
		{"case_id", "the id of the case that is asked about; empty where the rule does not depend on cases", `case_id == "normal"`},
	}
	for _, d := range quantity.Dimensions() {
		list = append(list, callable{d.Name() + "(text)", "a number of the type " + d.Name(), constant(d, "")})
	}
	return list
}

// markdown writes the reference page.
func (g *glossary) markdown(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "# Vocabulary of rules")
	fmt.Fprintln(b, "\nConditions and messages of rules are expressions over these names. What a design does not state is never taken as")
	fmt.Fprintln(b, "absent: a condition that needs it comes out as not verifiable and names it. There are no macros and no loops.")
	fmt.Fprintln(b, "\n## Types of numbers\n\nA number of one type cannot be compared with a number of another.")
	fmt.Fprintln(b, "\n| Type | What it is | SI unit | Units that are read |\n| --- | --- | --- | --- |")
	for _, t := range g.Types {
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", t.Name, cell(t.Doc), cell(t.Unit), cell(strings.Join(t.Units, ", ")))
	}
	fmt.Fprintln(b, "\n## Functions and operators\n\n| Function | What it gives | Example |\n| --- | --- | --- |")
	for _, f := range g.Functions {
		fmt.Fprintf(b, "| %s | %s | `%s` |\n", cell(f.Name), cell(f.Doc), cell(f.Example))
	}
	titles := map[string]string{"": "Of every rule", "component": "Of rules about components", "line": "Of rules about lines", "joint": "Of rules about joints", "port": "Of rules about ports"}
	last := "-"
	for i, t := range g.Terms {
		head := titles[t.Subject]
		if strings.HasPrefix(t.Name, "spec.") {
			head = "Of rules about the kind " + t.Kinds[0] + " alone"
		}
		if i == 0 || head != last {
			fmt.Fprintf(b, "\n## %s\n\n| Name | Type | Unit | Of kinds | What it is | Example |\n| --- | --- | --- | --- | --- | --- |\n", head)
			last = head
		}
		doc := t.Doc
		if len(t.Words) > 0 {
			doc = strings.TrimPrefix(doc+"; one of "+strings.Join(t.Words, ", "), "; ")
		}
		if t.ByCase {
			doc += "; by case"
		}
		kinds := strings.Join(t.Kinds, ", ")
		if kinds == "" {
			kinds = "all"
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s | `%s` |\n", t.Name, t.Type, cell(t.Unit), cell(kinds), cell(doc), cell(t.Example))
	}
	return errors.Join(b.Flush())
}

// cell keeps text inside a cell of a table.
func cell(s string) string { return strings.ReplaceAll(oneLine(s), "|", "\\|") }
