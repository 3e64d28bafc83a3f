package main

import (
	"errors"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// oneDesign is the design of a verb that asks about one, with what holds for it at its site.
type oneDesign struct {
	name string
	data []byte
	file *designfile.File
	site *site
}

// readOne reads one design and what holds for it. Everything wrong with them has been said when the error is an *exitError.
func (f *siteFlags) readOne(arg string, s *surroundings) (*oneDesign, error) {
	in, err := gatherOne(arg, s.In, f.stdinName)
	if err != nil {
		return nil, err
	}
	d := &oneDesign{name: in.name}
	if d.site, err = f.one(in, &skidrulev1.CheckOptions{}); err != nil {
		return nil, problemsExit(s.Err, err)
	}
	if d.data, err = in.bytes(); err != nil {
		return nil, err
	}
	if d.file, err = designfile.Read(in.name, d.data); err != nil {
		return nil, problemsExit(s.Err, err)
	}
	return d, nil
}

// refuse says what is wrong with a request, placed in the files that it was made of. Fields of the request that come from elsewhere
// are placed by the functions.
func (d *oneDesign) refuse(err error, server string, s *surroundings, places ...func(field string) string) error {
	if _, _, ok := violationsOf(err); !ok {
		return errors.New(plainFailure(err, server))
	}
	o := (&checking{server: server}).refused(d.name, d.file, err, func(field string) string {
		for _, place := range append(places, d.site.place) {
			if at := place(field); at != "" {
				return at
			}
		}
		return ""
	})
	printProblems(s.Err, o.unusable.Problems, o.unusable.More)
	return &exitError{code: exitUnusable}
}
