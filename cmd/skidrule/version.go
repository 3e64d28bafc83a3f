package main

import (
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/spf13/cobra"

	"github.com/skidrule/skidrule/internal/engine"
)

// versionFacts is what `version --json` prints; fields are only added.
type versionFacts struct {
	Version  string `json:"version"`
	Go       string `json:"go"`
	Platform string `json:"platform"`
	Revision string `json:"revision,omitempty"`
	Modified bool   `json:"modified,omitempty"`
}

func newVersion(s *surroundings) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			facts := versionFacts{Version: engine.Version(), Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH}
			if info, ok := debug.ReadBuildInfo(); ok {
				for _, setting := range info.Settings {
					switch setting.Key {
					case "vcs.revision":
						facts.Revision = setting.Value
					case "vcs.modified":
						facts.Modified = setting.Value == "true"
					}
				}
			}
			if asJSON {
				out, err := json.MarshalIndent(facts, "", "  ")
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(s.Out, string(out))
				return err
			}
			_, err := fmt.Fprintf(s.Out, "skidrule %s (%s, %s)\n", facts.Version, facts.Go, facts.Platform)
			return err
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print as JSON")
	return cmd
}
