package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// baselineHeader is the first line of a baseline file. No line number, count or measured value stands in the file, so that a
// change of the design elsewhere changes no line of it.
const baselineHeader = "# skidrule_baseline: v1"

// maxBaselineBytes bounds a baseline file.
const maxBaselineBytes = 64 << 20

// knownFinding is one line of a baseline file.
type knownFinding struct {
	design, rule, thing, fingerprint string
}

func (k knownFinding) line() string {
	return strings.Join([]string{k.design, k.rule, k.thing, k.fingerprint}, "\t")
}

func compareKnown(a, b knownFinding) int {
	return cmp.Or(cmp.Compare(a.design, b.design), cmp.Compare(a.rule, b.rule), cmp.Compare(a.thing, b.thing), cmp.Compare(a.fingerprint, b.fingerprint))
}

// baseline is a baseline file.
type baseline struct {
	file    string
	entries []knownFinding
	lines   []int // of the entries
}

// readBaseline reads a baseline file. The error is a *designfile.Problems for lines that are wrong.
func readBaseline(name string) (*baseline, error) {
	in := input{name: name}
	data, err := in.bytes()
	if err != nil {
		return nil, err
	}
	b := &baseline{file: filepath.ToSlash(name)}
	wrong := &designfile.Problems{}
	problem := func(line int, message, suggestion string) {
		wrong.List = append(wrong.List, designfile.Problem{File: b.file, Line: line, Column: 1, EndLine: line, EndColumn: 1, Message: message, Suggestion: suggestion})
	}
	if len(data) > min(maxBaselineBytes, designfile.DefaultMaxBytes) {
		problem(1, "the baseline is too long", "keep one for each project")
		return nil, wrong
	}
	n := 0
	for line := range strings.Lines(strings.TrimPrefix(string(data), "\ufeff")) {
		n++
		line = strings.TrimRight(line, "\r\n")
		if n == 1 && line != baselineHeader {
			problem(1, "this is no baseline", fmt.Sprintf("a baseline begins with %q; --write-baseline writes one", baselineHeader))
			return nil, wrong
		}
		if strings.HasPrefix(line, "#") || strings.TrimSpace(line) == "" {
			continue
		}
		fields := strings.Split(line, "\t")
		if len(fields) != 4 || slices.Contains(fields, "") {
			problem(n, "the line is no entry", "an entry is design file, rule, thing and fingerprint with a tab between them")
			continue
		}
		b.entries = append(b.entries, knownFinding{fields[0], fields[1], fields[2], fields[3]})
		b.lines = append(b.lines, n)
	}
	if n == 0 {
		problem(1, "the file is empty", fmt.Sprintf("a baseline begins with %q", baselineHeader))
	}
	if len(wrong.List) > 0 {
		return nil, wrong
	}
	return b, nil
}

// designName names a design file in a baseline: relative to the folder of the baseline, with forward slashes.
func designName(baselineFile, design string) string {
	from, err := filepath.Abs(filepath.Dir(baselineFile))
	if err != nil {
		return design
	}
	to, err := filepath.Abs(filepath.FromSlash(design))
	if err != nil {
		return design
	}
	relative, err := filepath.Rel(from, to)
	if err != nil {
		relative = design
	}
	// A tab or line break would end the entry.
	return strings.Map(func(r rune) rune {
		if r < ' ' {
			return '_'
		}
		return r
	}, filepath.ToSlash(relative))
}

// of gives the fingerprints that are known of a design.
func (b *baseline) of(design string) []string {
	if b == nil {
		return nil
	}
	name := designName(b.file, design)
	var out []string
	for _, k := range b.entries {
		if k.design == name {
			out = append(out, k.fingerprint)
		}
	}
	return out
}

// known lists the findings of an answer that a baseline would hold.
func known(file string, a *report.Answer) []knownFinding {
	name := designName(file, a.File)
	var out []knownFinding
	for _, f := range a.Report.GetFindings() {
		if engine.MayStandInBaseline(f) {
			out = append(out, knownFinding{name, f.GetRuleId(), f.GetSubject(), f.GetFingerprint()})
		}
	}
	return out
}

// mended gives the entries of an answered design that are no longer found although their rules were asked. Nothing is said
// about a design of which only some cases were asked, or about a rule that could not decide.
func (b *baseline) mended(a *report.Answer, asks func(rule string) bool) (out []int) {
	name := designName(b.file, a.File)
	found, open := map[string]bool{}, map[[2]string]bool{}
	for _, f := range a.Report.GetFindings() {
		found[f.GetFingerprint()] = true
	}
	for _, o := range a.Report.GetOutcomes() {
		if s := o.GetStatus(); s == skidrulev1.OutcomeStatus_OUTCOME_STATUS_NOT_VERIFIABLE || s == skidrulev1.OutcomeStatus_OUTCOME_STATUS_FAILED {
			open[[2]string{o.GetRuleId(), o.GetSubject()}] = true
		}
	}
	for i, k := range b.entries {
		if k.design == name && asks(k.rule) && !found[k.fingerprint] && !open[[2]string{k.rule, k.thing}] {
			out = append(out, i)
		}
	}
	return out
}

// baselineBytes spells entries as a baseline file.
func baselineBytes(entries []knownFinding) []byte {
	entries = slices.Clone(entries)
	slices.SortFunc(entries, compareKnown)
	entries = slices.Compact(entries)
	var b bytes.Buffer
	b.WriteString(baselineHeader + "\n")
	b.WriteString("# Known findings, one a line: design file, rule, thing, fingerprint. Written by skidrule; merge as a union of lines.\n")
	for _, k := range entries {
		b.WriteString(k.line() + "\n")
	}
	return b.Bytes()
}

// baselineFlags are the flags about findings that are known.
type baselineFlags struct {
	baseline, writeBaseline string
	growBaseline            bool
}

// ledger is the baselines of one run: those that are applied, and the one that is written.
type ledger struct {
	flags *baselineFlags
	read  map[string]*baseline // by file
	asks  func(rule string) bool
}

// of gives the baseline that applies to designs of a site; nil where there is none.
func (l *ledger) of(s *site) (*baseline, error) {
	name := l.flags.baseline
	if name == "" && s.project != nil && s.project.project.GetBaseline() != "" {
		name = s.project.path(s.project.project.GetBaseline())
	}
	if name == "" {
		return nil, nil
	}
	if b := l.read[name]; b != nil {
		return b, nil
	}
	if _, err := os.Stat(name); errors.Is(err, fs.ErrNotExist) {
		if samePath(name, l.flags.writeBaseline) {
			return nil, nil // this run begins it
		}
		return nil, fmt.Errorf("%s: there is no such baseline; `check --write-baseline %s` begins one", name, name)
	}
	b, err := readBaseline(name)
	if err == nil {
		l.read[name] = b
	}
	return b, err
}

// samePath reports whether two names are of one file, which need not be there.
func samePath(a, b string) bool {
	x, errX := filepath.Abs(a)
	y, errY := filepath.Abs(b)
	return b != "" && errX == nil && errY == nil && x == y
}

// tell names the entries that are mended, on standard error.
func (l *ledger) tell(w io.Writer, answers []*report.Answer) {
	names := make([]string, 0, len(l.read))
	for name := range l.read {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		b := l.read[name]
		for _, a := range answers {
			for _, i := range b.mended(a, l.asks) {
				k := b.entries[i]
				fmt.Fprintln(w, report.Plain(fmt.Sprintf("%s:%d: mended: %s of %s in %s; --write-baseline %s removes the entry", b.file, b.lines[i], k.rule, k.thing, k.design, b.file)))
			}
		}
	}
}

// write writes the baseline that --write-baseline names and marks what it holds in the answers. One that is there already only
// shrinks, so that new findings do not slip in, unless it may grow.
func (l *ledger) write(w io.Writer, answers []*report.Answer) error {
	name := l.flags.writeBaseline
	if name == "" {
		return nil
	}
	old := &baseline{file: filepath.ToSlash(name)}
	fresh := true
	if _, err := os.Stat(name); err == nil {
		fresh = false
		if old, err = readBaseline(name); err != nil {
			return err
		}
	}
	gone := map[int]bool{}
	for _, a := range answers {
		for _, i := range old.mended(a, l.asks) {
			gone[i] = true
		}
	}
	var entries []knownFinding
	have := map[knownFinding]bool{}
	for i, k := range old.entries {
		if !gone[i] {
			entries = append(entries, k)
			have[k] = true
		}
	}
	added := 0
	for _, a := range answers {
		for _, k := range known(name, a) {
			if (fresh || l.flags.growBaseline) && !have[k] {
				entries = append(entries, k)
				have[k] = true
				added++
			}
		}
	}
	if err := replace(name, baselineBytes(entries)); err != nil {
		return err
	}
	held := &baseline{file: filepath.ToSlash(name), entries: entries}
	for _, a := range answers {
		mark(a.Report, held.of(a.File))
	}
	fmt.Fprintln(w, report.Plain(fmt.Sprintf("%s: %d known findings, %d added, %d removed as mended", old.file, len(entries), added, len(gone))))
	return nil
}

// mark marks the findings of a report that a baseline holds.
func mark(r *skidrulev1.Report, fingerprints []string) {
	for _, f := range r.GetFindings() {
		if !f.GetInBaseline() && engine.MayStandInBaseline(f) && slices.Contains(fingerprints, f.GetFingerprint()) {
			f.InBaseline = true
			r.Coverage.InBaseline++
		}
	}
}

// add adds the flags to a verb.
func (f *baselineFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.baseline, "baseline", "", "`file` of known findings, which do not fail the run")
	flags.StringVar(&f.writeBaseline, "write-baseline", "", "`file` to write known findings to; one that is there already only loses those that are mended")
	flags.BoolVar(&f.growBaseline, "grow-baseline", false, "let --write-baseline add new findings to a file that is there already")
}

// settle tells what is mended, or writes the new baseline.
func (l *ledger) settle(w io.Writer, outcomes []outcome) error {
	var answers []*report.Answer
	for _, o := range outcomes {
		if o.answer != nil {
			answers = append(answers, o.answer)
		}
	}
	if l.flags.writeBaseline == "" {
		l.tell(w, answers)
	}
	if err := l.write(w, answers); err != nil {
		return err
	}
	for _, o := range outcomes {
		if o.answer == nil {
			continue
		}
		// Whoever asks about the design again knows what was written just now.
		for _, f := range o.answer.Report.GetFindings() {
			if f.GetInBaseline() {
				o.site.options.Baseline = append(o.site.options.Baseline, f.GetFingerprint())
			}
		}
	}
	return nil
}
