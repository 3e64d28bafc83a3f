package main

import (
	"errors"

	"github.com/skidrule/skidrule/internal/designfile"
)

// oneDesign is the design of a verb that asks about one, with what was brought beside it.
type oneDesign struct {
	name    string
	file    *designfile.File
	brought *brought
}

// readOne reads one design and the parts beside it. Everything wrong with them has been said when the error is an *exitError.
func readOne(arg, stdinName string, catalogues []string, s *surroundings) (*oneDesign, error) {
	b, err := bring(catalogues, nil)
	if err != nil {
		return nil, problemsExit(s.Err, err)
	}
	in, err := gatherOne(arg, s.In, stdinName)
	if err != nil {
		return nil, err
	}
	data, err := in.bytes()
	if err != nil {
		return nil, err
	}
	file, err := designfile.Read(in.name, data)
	if err != nil {
		return nil, problemsExit(s.Err, err)
	}
	return &oneDesign{in.name, file, b}, nil
}

// refuse says what is wrong with a request, placed in the files that it was made of.
func (d *oneDesign) refuse(err error, server string, s *surroundings) error {
	if _, _, ok := violationsOf(err); !ok {
		return errors.New(plainFailure(err, server))
	}
	o := (&checking{server: server, brought: d.brought}).refused(d.name, d.file, err)
	printProblems(s.Err, o.unusable.Problems, o.unusable.More)
	return &exitError{code: exitUnusable}
}
