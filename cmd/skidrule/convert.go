package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/tablefile"
)

// forms of designs and catalogues, by the extensions of their files.
var formOfExtension = map[string]designfile.Form{
	".yaml": designfile.YAML, ".yml": designfile.YAML, ".json": designfile.JSON,
	".txtpb": designfile.Text, ".pb": designfile.Binary, ".binpb": designfile.Binary,
}

func newConvert(s *surroundings) *cobra.Command {
	var to, output, stdinName string
	cmd := &cobra.Command{
		Use:   "convert FILE|-",
		Short: "Convert a design or a catalogue between its forms, or a table into a catalogue",
		Long: `convert reads a design or a catalogue in any form and writes it in another without loss of data: yaml and json are for
people, wire-json, text and binary are protobuf's own forms. Comments are lost.

A CSV file with measured performance becomes a catalogue of one part:

  part,house/injector-25
  origin,"maker's table, measured with water at 15 degC"
  kind,venturi_injector
  performance_gas,air
  performance_suction_pressure,0 bar(g)
  inlet_pressure [bar(g)],outlet_pressure [bar(g)],motive_flow [m3/h],suction_flow [NL/min]
  2,0.5,3.1,14
  3,0.5,3.8,22`,
		Example: `  skidrule convert loop.yaml --to wire-json
  skidrule convert loop.pb --output loop.yaml
  skidrule convert injector.csv --output parts/injector.yaml`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			form, err := formFor(to, output)
			if err != nil {
				return err
			}
			inputs, err := gatherOne(args[0], s.In, stdinName)
			if err != nil {
				return err
			}
			data, err := inputs.bytes()
			if err != nil {
				return err
			}
			converted, err := convert(inputs.name, data, form)
			if err != nil {
				return problemsExit(s.Err, err)
			}
			if _, terminal := terminalWidth(s.Out); terminal && output == "" && form == designfile.Binary {
				return errors.New("the binary form is not fit for a terminal; name a file with --output")
			}
			return target{path: output}.send(s.Out, func(w io.Writer) error {
				_, err := w.Write(converted)
				return err
			})
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&to, "to", "", "`form` to write: yaml, json, wire-json, text or binary; that of the output file's name, or yaml, where it is not given")
	flags.StringVar(&output, "output", "", "`FILE` to write in place of standard output")
	addStdinName(flags, &stdinName)
	return cmd
}

// formFor chooses the form to write.
func formFor(to, output string) (designfile.Form, error) {
	if to != "" {
		if form, ok := designfile.FormByName(to); ok {
			return form, nil
		}
		return 0, oneOf("to", to, "yaml", "json", "wire-json", "text", "binary")
	}
	if output == "" || output == "-" {
		return designfile.YAML, nil
	}
	if form, ok := formOfExtension[strings.ToLower(filepath.Ext(output))]; ok {
		return form, nil
	}
	return 0, fmt.Errorf("the name %s tells no form; say it with --to", output)
}

// convert turns a file into another form.
func convert(name string, data []byte, form designfile.Form) ([]byte, error) {
	if strings.EqualFold(filepath.Ext(name), ".csv") {
		table, err := tablefile.Read(name, data)
		if err != nil {
			return nil, err
		}
		return designfile.Write(table.Catalogue, form)
	}
	return designfile.Convert(name, data, form)
}

// gatherOne gives one file, or standard input.
func gatherOne(arg string, stdin io.Reader, stdinName string) (*input, error) {
	if arg == "-" {
		found, err := gather([]string{arg}, stdin, stdinName)
		if err != nil {
			return nil, err
		}
		return &found[0], nil
	}
	return &input{name: filepath.ToSlash(filepath.Clean(arg))}, nil
}
