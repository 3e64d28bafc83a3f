package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/rulebook"
	"github.com/skidrule/skidrule/internal/tablefile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// brought is what a user brings beside the designs: own parts and own rules, with their places.
type brought struct {
	catalogue *skidrulev1.Catalogue
	parts     map[string]places // by id of the entry
	rules     []*rulebook.RuleFile
}

// places leads from element paths to places in a file.
type places interface {
	File() string
	Find(path string) (designfile.Position, bool)
}

// bring reads folders of parts and of rules. Everything wrong with them comes in one *designfile.Problems.
func bring(catalogues, rules []string) (*brought, error) {
	b := &brought{parts: map[string]places{}}
	all := &designfile.Problems{}
	for _, folder := range catalogues {
		if err := b.readParts(folder, all); err != nil {
			return nil, err
		}
	}
	for _, folder := range rules {
		files, err := readRules(folder)
		if err = collect(all, err); err != nil {
			return nil, err
		}
		for _, f := range files {
			f.Rule.Pack = packName(folder)
			b.rules = append(b.rules, f)
		}
	}
	if len(all.List) > 0 {
		return nil, all
	}
	_, err := rulebook.CompileFiles(b.rules, true)
	return b, err
}

// packName is the name of the rule pack in a folder.
func packName(folder string) string {
	absolute, err := filepath.Abs(folder)
	if err != nil {
		return folder
	}
	return filepath.Base(absolute)
}

// readRules reads the rule files of a folder, named by their paths as given.
func readRules(folder string) ([]*rulebook.RuleFile, error) {
	if err := isFolder(folder); err != nil {
		return nil, err
	}
	files, err := rulebook.LoadFolder(os.DirFS(folder))
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		for i := range problems.List {
			problems.List[i].File = filepath.ToSlash(filepath.Join(folder, problems.List[i].File))
		}
	}
	if err == nil && len(files) == 0 {
		err = fmt.Errorf("%s: no rule file below this folder; a rule stands in topic/slug.yaml", filepath.ToSlash(folder))
	}
	for _, f := range files {
		f.Name = filepath.ToSlash(filepath.Join(folder, f.Name))
	}
	return files, err
}

func isFolder(name string) error {
	info, err := os.Stat(name)
	if err != nil {
		return plainError(err)
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is no folder", filepath.ToSlash(name))
	}
	return nil
}

// readParts reads the catalogue files of a folder.
func (b *brought) readParts(folder string, all *designfile.Problems) error {
	if err := isFolder(folder); err != nil {
		return err
	}
	found := false
	err := filepath.WalkDir(folder, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return plainError(err)
		}
		if !d.Type().IsRegular() || !slices.Contains([]string{".yaml", ".yml", ".json", ".csv"}, strings.ToLower(filepath.Ext(name))) {
			return nil
		}
		in := input{name: filepath.ToSlash(name)}
		data, err := in.bytes()
		if err != nil {
			return err
		}
		c, at, err := readPart(in.name, data)
		if err := collect(all, err); err != nil {
			return err
		}
		found = found || c != nil || err != nil
		if c != nil {
			b.merge(c, at, all)
		}
		return nil
	})
	if err == nil && !found {
		return fmt.Errorf("%s: no catalogue file and no table below this folder; a catalogue begins with %q", filepath.ToSlash(folder), designfile.CatalogueHeader+": "+designfile.Version)
	}
	return err
}

// readPart reads a catalogue file or a table; nil where the file is neither.
func readPart(name string, data []byte) (*skidrulev1.Catalogue, places, error) {
	if strings.EqualFold(filepath.Ext(name), ".csv") {
		f, err := tablefile.Read(name, data)
		if err != nil {
			return nil, nil, err
		}
		return f.Catalogue, f.Places, nil
	}
	if designfile.FirstKey(data) != designfile.CatalogueHeader {
		return nil, nil, nil
	}
	f, err := designfile.ReadCatalogue(name, data)
	if err != nil {
		return nil, nil, err
	}
	return f.Catalogue, f.Positions, nil
}

// merge adds the parts of a file. An id that stands in two files is a problem, for nobody could say which holds.
func (b *brought) merge(c *skidrulev1.Catalogue, from places, all *designfile.Problems) {
	if b.catalogue == nil {
		b.catalogue = &skidrulev1.Catalogue{Name: c.GetName(), Origin: c.GetOrigin()}
	}
	for _, e := range c.GetEntries() {
		if other, twice := b.parts[e.GetId()]; twice {
			p := designfile.Problem{File: from.File(), Path: "entries." + e.GetId(), Message: "the part " + e.GetId() + " stands in " + where(other, "entries."+e.GetId()) + " too", Suggestion: "keep one, or give one another id"}
			if at, ok := from.Find(p.Path); ok {
				p.PlaceAt(at)
			}
			all.List = append(all.List, p)
			continue
		}
		b.parts[e.GetId()] = from
		b.catalogue.Entries = append(b.catalogue.Entries, e)
	}
}

// where is a place in GNU form.
func where(positions places, path string) string {
	if at, ok := positions.Find(path); ok && at.Line > 0 {
		return fmt.Sprintf("%s:%d:%d", at.File, at.Line, at.Column)
	}
	return positions.File()
}

// collect moves problems into a list and gives back any other error.
func collect(all *designfile.Problems, err error) error {
	var ps *designfile.Problems
	if errors.As(err, &ps) {
		all.List = append(all.List, ps.List...)
		all.More += ps.More
		return nil
	}
	return err
}

// place finds where something wrong with the options of a request stands in the files that were brought.
func (b *brought) place(path string) string {
	if rest, ok := strings.CutPrefix(path, "options.catalogue."); ok {
		id, _, _ := strings.Cut(strings.TrimPrefix(rest, "entries."), ".")
		if positions := b.parts[id]; positions != nil {
			return where(positions, rest)
		}
	}
	var i int
	var field string
	if n, _ := fmt.Sscanf(path, "options.site_rules[%d].%s", &i, &field); n >= 1 && i < len(b.rules) {
		p := b.rules[i].Problem(field, 0, 0, "")
		return fmt.Sprintf("%s:%d:%d", p.File, p.Line, p.Column)
	}
	return ""
}
