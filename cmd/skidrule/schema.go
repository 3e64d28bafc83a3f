package main

import (
	"io"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func newSchema(s *surroundings) *cobra.Command {
	var output string
	cmd := &cobra.Command{
		Use:   "schema [design|catalogue]",
		Short: "Print the JSON Schema of a design file or a catalogue file",
		Long: `schema prints the JSON Schema (draft 2020-12) of design files, or of catalogue files: titles, descriptions, examples and
patterns of units, from which editors complete and explain keys while a file is written. A check says more: which tags are
missing, which units do not fit, what is out of range.`,
		Example: `  skidrule schema --output design.schema.json
  skidrule schema catalogue`,
		Args:      cobra.MatchAll(cobra.MaximumNArgs(1), cobra.OnlyValidArgs),
		ValidArgs: []string{"design", "catalogue"},
		RunE: func(_ *cobra.Command, args []string) error {
			var message proto.Message = &skidrulev1.Design{}
			header := designfile.DesignHeader
			if len(args) > 0 && args[0] == "catalogue" {
				message, header = &skidrulev1.Catalogue{}, designfile.CatalogueHeader
			}
			content, err := designfile.JSONSchema(message, header, designfile.Version)
			if err != nil {
				return err
			}
			return target{path: output}.send(s.Out, func(w io.Writer) error {
				_, err := w.Write(content)
				return err
			})
		},
	}
	cmd.Flags().StringVar(&output, "output", "", "`FILE` to write in place of standard output")
	return cmd
}
