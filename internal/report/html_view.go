package report

import "html/template"

// htmlView is what the template of the page shows. All texts are plain; the template escapes them.
type htmlView struct {
	Title, Date, Version, Policy string
	Style                        template.CSS
	Script                       template.JS
	Many                         bool
	Designs                      []htmlDesign
	Unusable                     []htmlUnusable
	Rules                        []htmlRule
	Cautions                     []string
}

type htmlUnusable struct {
	File     string
	Problems []string
	More     int
}

type htmlDesign struct {
	ID, Name, Revision, Description, File string
	// Verdict in words, and the decision as a word for the style.
	Verdict, Decision string
	Counts            []htmlCount
	Sheets            []htmlSheet
	Undrawn           string // why there is no drawing
	Findings          []htmlFinding
	Highlighted       string // what the drawing highlights to begin with
	Failures          []htmlRow
	Open              []htmlOpen
	Questions         []htmlQuestion
	// State says which short list of data decides most of what is open; empty where none does.
	State           string
	Assumed         []htmlRow
	Cases, Excluded []htmlRow
	Topics          []htmlTopic
	Coverage        string
	Solved          []htmlCase
	Extremes        []htmlExtreme
	Unsolved        string
}

// htmlCase is a solved case, its lines a row each.
type htmlCase struct {
	ID, Name, Title string
	Lines           []htmlLine
}

type htmlLine struct{ Tag, Flow, Velocity, Start, StartPressure, End, EndPressure, Note string }

type htmlExtreme struct{ Port, High, HighCase, Low, LowCase, Hot, HotCase string }

// htmlCount is one number of the summary.
type htmlCount struct{ Number, Word, Class string }

type htmlSheet struct {
	ID, Label string
	SVG       template.HTML
}

type htmlFinding struct {
	ID, Severity, Rule, RuleID, Tag, Place string
	Number                                 int // of the thing on the drawing; 0 for none
	Head, More                             string
	Title, Hazard, Cases, Why, Mend        string
	Consequence                            string
	Way                                    []htmlStep
	Numbers                                []number
	Related, Assumed                       string
	Sources                                []string
	Waiver                                 string
	Known                                  bool
	// Components and Lines are the tags that the drawing highlights, as JSON.
	Components, Lines string
}

type htmlStep struct{ Lines, Tag, Kind, Role, Note, Class string }

// htmlRow is a name with a text.
type htmlRow struct{ Name, Text, Place string }

type htmlOpen struct {
	Severity, Rule, RuleID, Title string
	Things                        []string
}

type htmlQuestion struct{ Place, Thing, Example, Use string }

// htmlTopic counts the outcomes of the rules of a topic.
type htmlTopic struct {
	Name                               string
	Met, Broken, Open, Without, Failed int
	Rules                              []htmlAsked
}

type htmlAsked struct {
	Rule, RuleID, Title, Severity      string
	Met, Broken, Open, Without, Failed int
}

type htmlRule struct {
	ID, Rule, Title, Severity, Hazard, Asked, Why, Mend, Applies, Condition string
	Parameters                                                              []htmlParameter
	Sources                                                                 []string
	Pack                                                                    string
}

type htmlParameter struct{ Name, Value, Description, Source string }
