package main

import (
	"io"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func newSchema(s *surroundings) *cobra.Command {
	var output string
	cmd := &cobra.Command{
		Use:   "schema [design|catalogue|openapi]",
		Short: "Print the JSON Schema of design files, or the OpenAPI document of the HTTP door",
		Long: `schema prints the JSON Schema (draft 2020-12) of design files, or of catalogue files: titles, descriptions, examples and
patterns of units, from which editors complete and explain keys while a file is written. A check says more: which tags are
missing, which units do not fit, what is out of range. With openapi it prints the OpenAPI 3.1 document of the JSON that
` + "`skidrule serve --http`" + ` answers, generated from the protos; a server gives the same at /openapi.json.`,
		Example: `  skidrule schema --output design.schema.json
  skidrule schema catalogue
  skidrule schema openapi --output skidrule.openapi.json`,
		Args:      cobra.MatchAll(cobra.MaximumNArgs(1), cobra.OnlyValidArgs),
		ValidArgs: []string{"design", "catalogue", "openapi"},
		RunE: func(_ *cobra.Command, args []string) error {
			var message proto.Message = &skidrulev1.Design{}
			header := designfile.DesignHeader
			if len(args) > 0 && args[0] == "catalogue" {
				message, header = &skidrulev1.Catalogue{}, designfile.CatalogueHeader
			}
			write := func() ([]byte, error) { return designfile.JSONSchema(message, header, designfile.Version) }
			if len(args) > 0 && args[0] == "openapi" {
				write = service.OpenAPI
			}
			content, err := write()
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
