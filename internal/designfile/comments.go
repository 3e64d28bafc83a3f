package designfile

import (
	"io/fs"
	"regexp"
	"strings"
	"sync"

	"google.golang.org/protobuf/reflect/protoreflect"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

var (
	protoBlock = regexp.MustCompile(`^(message|enum|oneof|service|extend) ([\w.]+) \{`)
	protoField = regexp.MustCompile(`^(?:(?:repeated|optional) )?[\w.]+(?:<[^>]*>)? (\w+) = \d+`)
	protoCall  = regexp.MustCompile(`^rpc (\w+)\(`)
	protoValue = regexp.MustCompile(`^([A-Z0-9_]+) = \d+`)
)

// Comment is the comment of a message, field, enum, enum value, service or method, by full name as skidrule.v1.Design.name; empty
// where there is none.
func Comment(name protoreflect.FullName) string { return comments()[string(name)] }

// comments are the comments of messages, fields, enum values and methods by full name, such as skidrule.v1.Design.name. Generated
// code does not carry them.
var comments = sync.OnceValue(func() map[string]string {
	all := map[string]string{}
	names, err := fs.Glob(skidrulev1.Sources, "*.proto")
	if err != nil {
		// The pattern is constant.
		panic(err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(skidrulev1.Sources, name)
		if err != nil {
			// The file is part of the program.
			panic(err)
		}
		readComments(string(text), all)
	}
	return all
})

// readComments reads the comments of one proto file as buf lays it out: one element a line, comments before it.
func readComments(text string, all map[string]string) {
	type block struct{ name string } // empty for a block that names no scope, such as a oneof or an option
	var open []block
	var above []string
	scope := func() string {
		s := "skidrule.v1"
		for _, b := range open {
			if b.name != "" {
				s += "." + b.name
			}
		}
		return s
	}
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if comment, ok := strings.CutPrefix(line, "//"); ok {
			above = append(above, strings.TrimSpace(comment))
			continue
		}
		note := strings.Join(above, " ")
		above = nil
		if c := protoCall.FindStringSubmatch(line); c != nil {
			all[scope()+"."+c[1]] = note
		}
		switch m, f, v := protoBlock.FindStringSubmatch(line), protoField.FindStringSubmatch(line), protoValue.FindStringSubmatch(line); {
		case m != nil:
			name := m[2]
			if m[1] == "oneof" || m[1] == "extend" {
				name = ""
			} else {
				all[scope()+"."+name] = note
			}
			if !strings.HasSuffix(line, "}") {
				open = append(open, block{name})
			}
			continue
		case v != nil:
			all[scope()+"."+v[1]] = note
		case f != nil:
			all[scope()+"."+f[1]] = note
		}
		for range strings.Count(line, "{") {
			open = append(open, block{})
		}
		for range strings.Count(line, "}") {
			if len(open) > 0 {
				open = open[:len(open)-1]
			}
		}
	}
}
