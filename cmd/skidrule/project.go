package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// Name of a project file that is found by itself, and its first key.
const (
	projectName   = "skidrule-project.yaml"
	projectHeader = "skidrule_project"
)

// site is everything that holds for a design beside the design: from flags and from its project file.
type site struct {
	options *skidrulev1.CheckOptions
	brought *brought
	project *projectFile // nil where there is none
	// waivers are the places of the waivers of options in the project file.
	waivers []int
}

// projectFile is a project file with the places of its parts.
type projectFile struct {
	name      string // as shown
	folder    string // that paths in it are relative to
	project   *skidrulev1.Project
	positions *designfile.Positions
}

// readProject reads a project file. The error is a *designfile.Problems for a file that is wrong.
func readProject(name string) (*projectFile, error) {
	in := input{name: name}
	data, err := in.bytes()
	if err != nil {
		return nil, err
	}
	p := &projectFile{name: filepath.ToSlash(name), folder: filepath.Dir(name), project: &skidrulev1.Project{}}
	p.positions, err = designfile.Decode(data, p.name, p.project, designfile.Options{Header: projectHeader, Version: designfile.Version, MaxBytes: 4 << 20})
	if err != nil {
		return nil, err
	}
	var wrong designfile.Problems
	for i, w := range p.project.GetWaivers() {
		at := fmt.Sprintf("waivers[%d]", i)
		if w.GetDesign() == "" {
			continue
		}
		if _, err := path.Match(filepath.ToSlash(w.GetDesign()), ""); err != nil {
			wrong.List = append(wrong.List, p.problem(at+".design", "the pattern is malformed", "name a file, or use * for any part of a name"))
		}
	}
	for _, list := range []struct {
		key     string
		folders []string
	}{{"rules", p.project.GetRules()}, {"catalogues", p.project.GetCatalogues()}} {
		for i, folder := range list.folders {
			if err := isFolder(p.path(folder)); err != nil {
				wrong.List = append(wrong.List, p.problem(fmt.Sprintf("%s[%d]", list.key, i), oneLine(err.Error()), "name a folder, relative to that of the project file"))
			}
		}
	}
	if len(wrong.List) > 0 {
		return nil, &wrong
	}
	return p, nil
}

// problem places something wrong in the project file.
func (p *projectFile) problem(at, message, suggestion string) designfile.Problem {
	one := designfile.Problem{File: p.name, Path: at, Message: message, Suggestion: suggestion}
	if pos, ok := p.positions.Find(at); ok {
		one.PlaceAt(pos)
	}
	return one
}

// path is a path that the file names, as seen from here.
func (p *projectFile) path(name string) string {
	if filepath.IsAbs(filepath.FromSlash(name)) {
		return filepath.FromSlash(name)
	}
	return filepath.Join(p.folder, filepath.FromSlash(name))
}

// concerns tells whether a waiver is about a design file; one that names no design is about all.
func (p *projectFile) concerns(w *skidrulev1.ProjectWaiver, design string) bool {
	if w.GetDesign() == "" {
		return true
	}
	absolute, err := filepath.Abs(filepath.FromSlash(design))
	if err != nil {
		return false
	}
	base, err := filepath.Abs(p.folder)
	if err != nil {
		return false
	}
	relative, err := filepath.Rel(base, absolute)
	if err != nil {
		return false
	}
	return matchParts(strings.Split(path.Clean(filepath.ToSlash(w.GetDesign())), "/"), strings.Split(filepath.ToSlash(relative), "/"))
}

// siteFlags are the flags of verbs that read designs of a site.
type siteFlags struct {
	project           string
	noProject         bool
	catalogues, rules []string
	today             string
	stdinName         string
}

// sites finds what holds for each design. Project files are read once.
type sites struct {
	flags   *siteFlags
	options *skidrulev1.CheckOptions // of the flags
	found   map[string]*projectSite  // by absolute path of the project file; "" where there is none
}

// projectSite is what a project file and the flags say for every design.
type projectSite struct {
	project *projectFile
	brought *brought
}

func newSites(f *siteFlags, o *skidrulev1.CheckOptions) *sites {
	return &sites{flags: f, options: o, found: map[string]*projectSite{}}
}

// of gives what holds for a design file.
func (s *sites) of(design string) (*site, error) {
	common, err := s.common(design)
	if err != nil {
		return nil, err
	}
	out := &site{options: proto.CloneOf(s.options), brought: common.brought, project: common.project}
	out.options.Catalogue = common.brought.catalogue
	for _, r := range common.brought.rules {
		out.options.SiteRules = append(out.options.SiteRules, r.Rule)
	}
	p := common.project
	if p == nil {
		return out, nil
	}
	out.options.RuleChanges = p.project.GetRuleChanges()
	for i, w := range p.project.GetWaivers() {
		if !p.concerns(w, design) {
			continue
		}
		out.waivers = append(out.waivers, i)
		out.options.Waivers = append(out.options.Waivers, &skidrulev1.Waiver{
			RuleId: w.GetRule(), Subject: w.GetThing(), CaseId: w.GetCase(), Reason: w.GetReason(), AcceptedBy: w.GetAcceptedBy(), Expires: w.GetExpires(),
		})
	}
	if len(out.options.GetWaivers()) > 0 {
		// The day is stated so that a server in another time zone gives the same answer.
		out.options.Today = s.flags.today
	}
	return out, nil
}

// common gives what a design shares with the others of its project.
func (s *sites) common(design string) (*projectSite, error) {
	name, err := s.flags.find(design)
	if err != nil {
		return nil, err
	}
	key := name
	if name != "" {
		if key, err = filepath.Abs(name); err != nil {
			return nil, err
		}
	}
	if have := s.found[key]; have != nil {
		return have, nil
	}
	out := &projectSite{}
	var catalogues, rules []string
	if name != "" {
		if out.project, err = readProject(name); err != nil {
			return nil, err
		}
		for _, folder := range out.project.project.GetCatalogues() {
			catalogues = append(catalogues, out.project.path(folder))
		}
		for _, folder := range out.project.project.GetRules() {
			rules = append(rules, out.project.path(folder))
		}
	}
	if out.brought, err = bring(append(catalogues, s.flags.catalogues...), append(rules, s.flags.rules...)); err != nil {
		return nil, err
	}
	s.found[key] = out
	return out, nil
}

// find names the project file of a design: the one that --project names, or the nearest one in its folder or above, but not
// above the folder of a repository.
func (f *siteFlags) find(design string) (string, error) {
	switch {
	case f.noProject:
		return "", nil
	case f.project != "":
		return f.project, nil
	}
	folder, err := filepath.Abs(filepath.Dir(filepath.FromSlash(design)))
	if err != nil {
		return "", err
	}
	for {
		name := filepath.Join(folder, projectName)
		if info, err := os.Stat(name); err == nil && info.Mode().IsRegular() {
			return displayed(name), nil
		} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", plainError(err)
		}
		if _, err := os.Stat(filepath.Join(folder, ".git")); err == nil || folder == filepath.Dir(folder) {
			return "", nil
		}
		folder = filepath.Dir(folder)
	}
}

// displayed is a path as a user would write it: relative where that is shorter.
func displayed(name string) string {
	here, err := os.Getwd()
	if err != nil {
		return name
	}
	if relative, err := filepath.Rel(here, name); err == nil && len(relative) < len(name) {
		return relative
	}
	return name
}

// place is the place in the user's files of a field of the options; empty where it is not known.
func (s *site) place(field string) string {
	if at := s.brought.place(field); at != "" || s.project == nil {
		return at
	}
	var i int
	var rest string
	if n, _ := fmt.Sscanf(field, "options.waivers[%d]%s", &i, &rest); n >= 1 && i < len(s.waivers) {
		own := strings.NewReplacer(".rule_id", ".rule", ".subject", ".thing", ".case_id", ".case").Replace(rest)
		return where(s.project.positions, fmt.Sprintf("waivers[%d]%s", s.waivers[i], own))
	}
	rest = ""
	changes := s.options.GetRuleChanges()
	if n, _ := fmt.Sscanf(field, "options.rule_changes[%d]%s", &i, &rest); n >= 1 && i < len(changes) {
		if rest == ".rule_id" {
			rest = ""
		}
		return where(s.project.positions, designfile.Child("rule_changes", changes[i].GetRuleId())+rest)
	}
	if strings.HasPrefix(field, "options.rule_changes") {
		return s.project.name
	}
	return ""
}

// addStdinName adds the flag to a verb that reads standard input.
func addStdinName(flags *pflag.FlagSet, name *string) {
	flags.StringVar(name, "stdin-name", "stdin", "`name` of standard input in what is said of it; its extension tells the form")
}

// addParts adds the flags to a verb that asks no rules of a site.
func (f *siteFlags) addParts(cmd *cobra.Command) {
	flags := cmd.Flags()
	addStdinName(flags, &f.stdinName)
	flags.StringArrayVar(&f.catalogues, "catalogue", nil, "`folder` of catalogue files with parts of your own; may be repeated")
	flags.StringVar(&f.project, "project", "", "project `file` in place of the nearest "+projectName+" in the design's folder or above")
	flags.BoolVar(&f.noProject, "no-project", false, "look for no project file")
}

// add adds the flags to a verb.
func (f *siteFlags) add(cmd *cobra.Command) {
	f.addParts(cmd)
	flags := cmd.Flags()
	flags.StringArrayVar(&f.rules, "rules", nil, "`folder` of rule files of your own; may be repeated")
	flags.StringVar(&f.today, "today", "", "`day` on which waivers are judged, as 2026-01-31; the day of the run where it is not given")
}

// settle finds what holds for each input, and gives the rules of all sites. What is wrong with the files of a site comes in
// one *designfile.Problems.
func (f *siteFlags) settle(inputs []input, o *skidrulev1.CheckOptions, known *ledger) ([]*skidrulev1.Rule, error) {
	if f.today == "" {
		f.today = time.Now().Format(time.DateOnly)
	}
	if _, err := time.Parse(time.DateOnly, f.today); err != nil {
		return nil, fmt.Errorf("--today %q is no day; write it as 2026-01-31", f.today)
	}
	if f.noProject && f.project != "" {
		return nil, errors.New("--project names a project file and --no-project wants none; take one of them")
	}
	all := newSites(f, o)
	var rules []*skidrulev1.Rule
	for i := range inputs {
		s, err := all.of(inputs[i].name)
		if err != nil {
			return nil, err
		}
		b, err := known.of(s)
		if err != nil {
			return nil, err
		}
		s.options.Baseline = b.of(inputs[i].name)
		inputs[i].site = s
		for _, r := range s.options.GetSiteRules() {
			if !slices.Contains(rules, r) {
				rules = append(rules, r)
			}
		}
	}
	return rules, nil
}
