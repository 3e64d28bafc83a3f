package main

import (
	"context"
	"errors"
	"fmt"

	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/crew"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/engine"
	"github.com/skidrule/skidrule/internal/report"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// outcome of one input: an answer, or what makes it unusable.
type outcome struct {
	answer   *report.Answer
	unusable *report.Unusable

	// Of an answer:
	site *site
	file *designfile.File
	data []byte             // of the file
	full *skidrulev1.Report // the answer in the full view, where it was asked for
	page *answer.Page       // what an HTML report shows beside it, where one is written
}

// checking is one run of check over many inputs.
type checking struct {
	asker  asker
	server string
	// full asks for the full view as well, and page for what an HTML report shows.
	full, page bool
}

// all answers the inputs, several at a time, and gives the outcomes in their order. Only the end of the context stops it.
func (c *checking) all(ctx context.Context, inputs []input, p *progress) ([]outcome, error) {
	out := make([]outcome, len(inputs))
	err := crew.Each(len(inputs), func(i int) error {
		defer p.step()
		out[i] = c.one(ctx, &inputs[i])
		return ctx.Err()
	})
	p.finish()
	return out, err
}

// one answers one input. A panic spoils this input alone.
func (c *checking) one(ctx context.Context, in *input) (o outcome) {
	defer func() {
		if r := recover(); r != nil {
			o = unusable(in.name, "internal error, please report it with this design: "+oneLine(fmt.Sprint(r)))
		}
	}()
	data, err := in.bytes()
	if err != nil {
		return unusable(in.name, reason(err))
	}
	file, err := designfile.Read(in.name, data)
	var problems *designfile.Problems
	if errors.As(err, &problems) {
		return outcome{unusable: &report.Unusable{File: in.name, Problems: problems.List, More: problems.More}}
	}
	if err != nil {
		return unusable(in.name, oneLine(err.Error()))
	}
	o = outcome{site: in.site, file: file, data: data, answer: &report.Answer{File: in.name, Positions: file.Positions}}
	request := &skidrulev1.CheckDesignRequest{Design: file.Design, Options: proto.CloneOf(in.site.options)}
	if c.full {
		request.Options.View = skidrulev1.ReportView_REPORT_VIEW_FULL
	}
	if c.page {
		o.answer.Report, o.page, err = c.withPage(ctx, request)
	} else {
		o.answer.Report, err = c.asker.Check(ctx, request)
	}
	if err != nil {
		return c.refused(in.name, file, err, in.site.place)
	}
	if c.full {
		o.full = o.answer.Report
		o.answer.Report = engine.InView(o.full, in.site.options.GetView())
	}
	return o
}

// reason is a file error without the file's name, which stands before it anyway.
func reason(err error) string {
	if inner := errors.Unwrap(err); inner != nil {
		return inner.Error()
	}
	return err.Error()
}

func unusable(name, message string) outcome {
	return outcome{unusable: &report.Unusable{File: name, Problems: []designfile.Problem{{File: name, Message: message}}}}
}

// refused places what is wrong with a request in the files that it was made of; place tells where fields of the options stand.
func (c *checking) refused(name string, file *designfile.File, err error, place func(field string) string) outcome {
	list, more, ok := violationsOf(err)
	if !ok {
		return unusable(name, plainFailure(err, c.server))
	}
	u := &report.Unusable{File: name, More: more}
	for _, v := range list {
		p := designfile.Problem{File: name, Path: v.Path, Message: v.Message}
		if v.InDesign {
			if at, ok := file.Positions.Find(v.Path); ok {
				p.PlaceAt(at)
			}
		} else {
			if at := place(v.Path); at != "" {
				p.Message += " (" + at + ")"
			}
		}
		u.Problems = append(u.Problems, p)
	}
	return outcome{unusable: u}
}
