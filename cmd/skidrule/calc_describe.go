package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"google.golang.org/protobuf/encoding/protojson"

	"github.com/skidrule/skidrule/clients/go/skidrule"
	"github.com/skidrule/skidrule/internal/answer"
	"github.com/skidrule/skidrule/internal/calc"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// describe lists the calculations, or says all about one.
func (f *calcFlags) describe(cmd *cobra.Command, names []string, s *surroundings) error {
	list, err := askOne(cmd.Context(), &f.serverFlags, names, func(_ context.Context, names []string) ([]*skidrulev1.Calculation, error) {
		answer, err := answer.ListCalculations(&skidrulev1.ListCalculationsRequest{Names: names})
		return answer.GetCalculations(), err
	}, func(c *skidrule.Client, ctx context.Context, names []string) ([]*skidrulev1.Calculation, error) {
		return c.Calculations(ctx, names...)
	})
	if err != nil {
		return calcError(err, f.server)
	}
	if f.format == "json" {
		content, err := calculationsJSON(list)
		if err != nil {
			return err
		}
		return f.write(s, content)
	}
	var b strings.Builder
	wide := 0
	for _, m := range list {
		wide = max(wide, len(m.GetName()))
	}
	for _, m := range list {
		if len(names) == 0 {
			fmt.Fprintf(&b, "%-*s  %s\n", wide, m.GetName(), m.GetTitle())
			continue
		}
		c, err := answer.CalculationOf(m)
		if err != nil {
			return err
		}
		b.WriteString(c.Explain(f.system()))
		line, table := example(c)
		b.WriteString("to run it\n  " + line + "\n")
		if table != "" {
			b.WriteString("with table.csv\n  " + strings.ReplaceAll(strings.TrimSpace(table), "\n", "\n  ") + "\n")
		}
	}
	if len(names) == 0 {
		fmt.Fprintf(&b, "%d calculations; `skidrule calc NAME` says what one needs\n", len(list))
	}
	return f.write(s, []byte(b.String()))
}

// example is a command line that runs a calculation: one that it is tested with, or one with the keys of what it needs; and
// the content of the file that it reads, where it reads one.
func example(c *calc.Calculation) (line, table string) {
	words := []string{"skidrule calc", c.Name}
	given := map[string]string{}
	if len(c.Checks) > 0 {
		given = c.Checks[0].Inputs
	}
	for _, in := range c.Inputs {
		value, ok := given[in.Key]
		switch {
		case !ok && len(c.Checks) == 0 && !in.Optional && in.Assumed == nil:
			value = "…"
		case !ok:
			continue
		case in.Kind == calc.Table:
			table, value = value, "@table.csv"
		}
		if strings.ContainsAny(value, " ()/*'\"") {
			value = "'" + value + "'"
		}
		words = append(words, in.Key+"="+value)
	}
	return strings.Join(words, " "), table
}

// calculationsJSON writes descriptions for programs, each as the JSON of the Calculation message.
func calculationsJSON(list []*skidrulev1.Calculation) ([]byte, error) {
	var all []json.RawMessage
	for _, m := range list {
		raw, err := protojson.MarshalOptions{UseProtoNames: true}.Marshal(m)
		if err != nil {
			return nil, err
		}
		all = append(all, raw)
	}
	raw, err := json.Marshal(map[string]any{"calculations": all})
	if err != nil {
		return nil, err
	}
	// The spacing of protojson differs between builds on purpose; ours does not.
	var out bytes.Buffer
	if err := json.Indent(&out, raw, "", "  "); err != nil {
		return nil, err
	}
	out.WriteByte('\n')
	return out.Bytes(), nil
}
