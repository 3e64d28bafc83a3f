package draft_test

import (
	"flag"
	"os"
	"testing"
)

// A draft is checked by all rules, which takes a tenth of a second, so few demands are tried unless more are asked for.
func TestMain(m *testing.M) {
	flag.Parse()
	asked := false
	flag.Visit(func(f *flag.Flag) { asked = asked || f.Name == "rapid.checks" })
	if !asked {
		if err := flag.Set("rapid.checks", "30"); err != nil {
			panic(err)
		}
	}
	os.Exit(m.Run())
}
