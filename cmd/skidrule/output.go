package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// formats of lists of rules, and reportFormats those of a report.
var (
	formats       = []string{"text", "json"}
	reportFormats = []string{"text", "json", "sarif", "junit", "markdown", "html"}
)

// target is one place where a report goes, in one format. An empty path is standard output.
type target struct {
	format, path string
}

// targets reads --output: PATH takes the report in place of standard output, FORMAT=PATH takes one beside it.
func targets(format string, outputs []string) ([]target, error) {
	if err := oneOf("format", format, reportFormats...); err != nil {
		return nil, err
	}
	main := target{format: format}
	var beside []target
	seen := map[string]bool{}
	for _, o := range outputs {
		t := target{path: o}
		if f, path, ok := strings.Cut(o, "="); ok && oneOf("output", f, reportFormats...) == nil {
			t = target{f, path}
		}
		if t.path == "" {
			return nil, fmt.Errorf("--output %q names no file", o)
		}
		if seen[t.path] {
			return nil, fmt.Errorf("--output names %s twice", t.path)
		}
		seen[t.path] = true
		switch {
		case t.format != "":
			beside = append(beside, t)
		case main.path != "":
			return nil, fmt.Errorf("--output has two files for the %s report, %s and %s; FORMAT=PATH writes another one", format, main.path, o)
		default:
			main.path = o
		}
	}
	return append([]target{main}, beside...), nil
}

// writes tells whether a report goes out in a format.
func writes(out []target, format string) bool {
	return slices.ContainsFunc(out, func(t target) bool { return t.format == format })
}

// send writes to a target. A file appears whole or not at all.
func (t target) send(stdout io.Writer, write func(io.Writer) error) error {
	if t.path == "" || t.path == "-" {
		return write(stdout)
	}
	var content bytes.Buffer
	if err := write(&content); err != nil {
		return err
	}
	return replace(t.path, content.Bytes())
}

// replace writes a file by way of a temporary one beside it. A device or pipe is written to directly.
func replace(path string, content []byte) error {
	if info, err := os.Stat(path); err == nil && !info.Mode().IsRegular() {
		return plainError(os.WriteFile(path, content, 0o644))
	}
	temporary, err := os.CreateTemp(filepath.Dir(path), ".skidrule-*")
	if err != nil {
		return plainError(err)
	}
	_, err = temporary.Write(content)
	if e := temporary.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Chmod(temporary.Name(), 0o644)
	}
	if err == nil {
		err = os.Rename(temporary.Name(), path)
	}
	if err != nil {
		os.Remove(temporary.Name())
	}
	return plainError(err)
}
