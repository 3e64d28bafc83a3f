package report

import (
	"bytes"
	"encoding/json"
	"io"
	"strconv"

	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// JSONVersion is the version of the JSON report. Within a version fields are only added.
const JSONVersion = "v1"

type jsonFile struct {
	Version string       `json:"skidrule_report"`
	Gate    jsonGate     `json:"gate"`
	Answers []jsonAnswer `json:"answers"`
	// Unusable lists the files that could not be checked.
	Unusable []jsonUnusable `json:"unusable"`
}

type jsonUnusable struct {
	File     string        `json:"file"`
	Problems []jsonProblem `json:"problems"`
	More     int           `json:"more,omitempty"`
}

type jsonProblem struct {
	Line       int    `json:"line,omitempty"`
	Column     int    `json:"column,omitempty"`
	EndLine    int    `json:"end_line,omitempty"`
	EndColumn  int    `json:"end_column,omitempty"`
	Path       string `json:"path,omitempty"`
	Message    string `json:"message"`
	Suggestion string `json:"suggestion,omitempty"`
}

type jsonGate struct {
	FailOn          string `json:"fail_on"`
	AllowUnverified bool   `json:"allow_unverified"`
	Decision        string `json:"decision"`
}

type jsonAnswer struct {
	File      string               `json:"file"`
	Verdict   jsonVerdict          `json:"verdict"`
	Report    json.RawMessage      `json:"report"`
	State     jsonState            `json:"state"`
	Positions map[string]jsonPlace `json:"positions"`
}

type jsonVerdict struct {
	Decision string `json:"decision"`
	Text     string `json:"text"`
}

// jsonState is a short list of data, chosen greedily, whose statement decides most of the open outcomes.
type jsonState struct {
	Data    []string `json:"data"`
	Decided int      `json:"decided"`
	Open    int      `json:"open"`
}

type jsonPlace struct {
	Line      int `json:"line"`
	Column    int `json:"column"`
	EndLine   int `json:"end_line"`
	EndColumn int `json:"end_column"`
}

// JSON writes answers for programs. Each report is the JSON of the Report message, with its fields spelt as in the schema; positions
// give the place of every element path that it names, and state is the short list of data to state. Lines and columns count from 1,
// columns in code points. Numbers have six significant digits. The same answers give the same bytes. The gate's decision is `unusable`
// where a file could not be checked.
func JSON(w io.Writer, answers []Answer, unusable []Unusable, gate Gate) error {
	file := jsonFile{Version: JSONVersion, Answers: []jsonAnswer{}, Unusable: []jsonUnusable{}}
	verdicts, worst := gate.judgeAll(answers)
	for i := range answers {
		a, v := &answers[i], verdicts[i]
		short := proto.CloneOf(a.Report)
		shorten(short)
		raw, err := wire(short)
		if err != nil {
			return err
		}
		file.Answers = append(file.Answers, jsonAnswer{File: a.File, Verdict: jsonVerdict{v.Decision.String(), gate.Words(v)}, Report: raw, State: stateOf(a.Report), Positions: places(a)})
	}
	file.Gate = jsonGate{severityWord(gate.Threshold), gate.AllowUnverified, worst.String()}
	for _, u := range unusable {
		file.Gate.Decision = "unusable"
		j := jsonUnusable{File: u.File, More: u.More}
		for _, p := range u.Problems {
			j.Problems = append(j.Problems, jsonProblem{p.Line, p.Column, p.EndLine, p.EndColumn, p.Path, p.Message, p.Suggestion})
		}
		file.Unusable = append(file.Unusable, j)
	}
	return writeJSON(w, file)
}

func stateOf(r *skidrulev1.Report) jsonState {
	l := shortList(r)
	s := jsonState{Data: []string{}, Decided: l.Decided, Open: l.Open}
	s.Data = append(s.Data, l.Data...)
	return s
}

// MessageJSON writes an answer as it goes over the wire: fields by their names in the interface, numbers in SI units. The same answer
// gives the same bytes. The error is the writer's.
func MessageJSON(w io.Writer, m proto.Message) error {
	raw, err := wire(m)
	if err != nil {
		return err
	}
	return writeJSON(w, raw)
}

// wire is a message in JSON, its fields spelt as in the schema.
func wire(m proto.Message) (json.RawMessage, error) {
	return protojson.MarshalOptions{UseProtoNames: true}.Marshal(m)
}

// writeJSON writes a value with our own spacing: that of protojson differs between builds on purpose.
func writeJSON(w io.Writer, value any) error {
	var raw, out bytes.Buffer
	enc := json.NewEncoder(&raw)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(value); err != nil {
		return err
	}
	if err := json.Compact(&out, raw.Bytes()); err != nil {
		return err
	}
	raw.Reset()
	if err := json.Indent(&raw, out.Bytes(), "", "  "); err != nil {
		return err
	}
	raw.WriteByte('\n')
	_, err := w.Write(raw.Bytes())
	return err
}

// shorten rounds the numbers of a report to six significant digits, so that the last bits of a machine's arithmetic do not
// show.
func shorten(r *skidrulev1.Report) {
	round := func(x *float64) {
		if x != nil {
			*x, _ = strconv.ParseFloat(strconv.FormatFloat(*x, 'g', 6, 64), 64)
		}
	}
	evidence := func(list []*skidrulev1.Evidence) {
		for _, e := range list {
			round(e.Value)
			round(e.ValueHigh)
			round(e.Limit)
		}
	}
	for _, f := range r.GetFindings() {
		evidence(f.GetEvidence())
	}
	for _, o := range r.GetOutcomes() {
		evidence(o.GetEvidence())
	}
	for _, u := range r.GetAssumptions() {
		round(u.Low)
		round(u.High)
	}
}

// places gives the place of every element path that a report names.
func places(a *Answer) map[string]jsonPlace {
	out := map[string]jsonPlace{}
	add := func(paths ...string) {
		for _, path := range paths {
			if at, ok := a.find(path); ok {
				out[path] = jsonPlace{at.Line, at.Column, at.EndLine, at.EndColumn}
			}
		}
	}
	r := a.Report
	for _, f := range r.GetFindings() {
		add(f.GetSubject())
		add(f.GetAssumed()...)
		add(f.GetRelated()...)
		for _, s := range f.GetPath() {
			add(s.GetElement())
		}
	}
	for _, o := range r.GetOutcomes() {
		add(o.GetSubject())
		add(o.GetMissing()...)
		add(o.GetAssumed()...)
	}
	for _, f := range r.GetFailures() {
		add(f.GetSubject())
	}
	for _, q := range r.GetQuestions() {
		add(q.GetPath())
	}
	for _, u := range r.GetAssumptions() {
		add(u.GetPath())
	}
	return out
}
