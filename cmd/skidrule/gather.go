package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"github.com/skidrule/skidrule/internal/designfile"
)

// input is one design file to read: a path, or bytes that were already read from standard input.
type input struct {
	name string
	data []byte
	read bool
	// site is what holds for the design beside the design; nil where the verb asks for none.
	site *site
}

// bytes gives the content. A file longer than any design may be is not read to its end.
func (in *input) bytes() ([]byte, error) {
	if in.read {
		return in.data, nil
	}
	f, err := os.Open(filepath.FromSlash(in.name))
	if err != nil {
		return nil, plainError(err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, designfile.DefaultMaxBytes+1))
	return data, plainError(err)
}

// plainError is a file error without the system call's name.
func plainError(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("%s: %w", filepath.ToSlash(p.Path), p.Err)
	}
	return err
}

// gather lists the inputs that arguments name: files, folders with design files below them, patterns, and `-` for standard
// input. Each file comes once, in order of the arguments, those of a folder in order of name.
func gather(args []string, stdin io.Reader, stdinName string) ([]input, error) {
	g := &gathering{seen: map[string]bool{}}
	for _, arg := range args {
		if arg == "-" {
			if g.seen["-"] {
				continue
			}
			g.seen["-"] = true
			data, err := io.ReadAll(io.LimitReader(stdin, designfile.DefaultMaxBytes+1))
			if err != nil {
				return nil, fmt.Errorf("standard input: %w", err)
			}
			g.found = append(g.found, input{name: stdinName, data: data, read: true})
			continue
		}
		if err := g.argument(arg); err != nil {
			return nil, err
		}
	}
	return g.found, nil
}

type gathering struct {
	found []input
	seen  map[string]bool
}

func (g *gathering) add(name string) {
	name = filepath.ToSlash(filepath.Clean(name))
	if !g.seen[name] {
		g.seen[name] = true
		g.found = append(g.found, input{name: name})
	}
}

func (g *gathering) argument(arg string) error {
	info, err := os.Stat(arg)
	switch {
	case err == nil && info.IsDir():
		return g.folder(arg)
	case err == nil:
		g.add(arg)
		return nil
	case errors.Is(err, fs.ErrNotExist) && strings.ContainsAny(arg, "*?["):
		return g.pattern(arg)
	}
	return plainError(err)
}

// folder adds the design files below a folder: those whose first key is the design header.
func (g *gathering) folder(root string) error {
	n := 0
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return plainError(err)
		}
		if d.IsDir() {
			if name != root && strings.HasPrefix(d.Name(), ".") {
				return filepath.SkipDir
			}
			return nil
		}
		design, err := isDesign(name, d)
		if design {
			n++
			g.add(name)
		}
		return err
	})
	if err == nil && n == 0 {
		return fmt.Errorf("%s: no design file below this folder; a design file begins with %q", filepath.ToSlash(root), designfile.DesignHeader+": "+designfile.Version)
	}
	return err
}

// isDesign looks at the first key of a file.
func isDesign(name string, d fs.DirEntry) (bool, error) {
	if !d.Type().IsRegular() || !slices.Contains([]string{".yaml", ".yml", ".json"}, strings.ToLower(filepath.Ext(name))) {
		return false, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return false, plainError(err)
	}
	defer f.Close()
	// The first key stands in front; comments before it may be long, but not endless.
	head, err := io.ReadAll(io.LimitReader(f, 64<<10))
	return err == nil && designfile.FirstKey(head) == designfile.DesignHeader, plainError(err)
}

// pattern adds the files that match a pattern, in which ** stands for any folders.
func (g *gathering) pattern(pattern string) error {
	pattern = path.Clean(filepath.ToSlash(pattern))
	if _, err := path.Match(pattern, ""); err != nil {
		return fmt.Errorf("%s: the pattern is malformed", pattern)
	}
	parts := strings.Split(pattern, "/")
	fixed := slices.IndexFunc(parts, func(s string) bool { return strings.ContainsAny(s, "*?[") })
	root := strings.Join(parts[:fixed], "/")
	if root == "" && !strings.HasPrefix(pattern, "/") {
		root = "."
	} else if root == "" {
		root = "/"
	}
	n := 0
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return plainError(err)
		}
		if d.IsDir() && name != root && strings.HasPrefix(d.Name(), ".") {
			return filepath.SkipDir
		}
		if d.Type().IsRegular() && matchParts(parts, strings.Split(path.Clean(filepath.ToSlash(name)), "/")) {
			n++
			g.add(name)
		}
		return nil
	})
	if err == nil && n == 0 {
		return fmt.Errorf("%s: no file matches this pattern", pattern)
	}
	return err
}

// matchParts matches a path with a pattern, both in parts.
func matchParts(pattern, name []string) bool {
	for len(pattern) > 0 {
		if pattern[0] == "**" {
			for i := 0; i <= len(name); i++ {
				if matchParts(pattern[1:], name[i:]) {
					return true
				}
			}
			return false
		}
		if len(name) == 0 {
			return false
		}
		if ok, _ := path.Match(pattern[0], name[0]); !ok {
			return false
		}
		pattern, name = pattern[1:], name[1:]
	}
	return len(name) == 0
}
