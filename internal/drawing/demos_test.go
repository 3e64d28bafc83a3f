package drawing_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/skidrule/skidrule/internal/catalogue"
	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/drawing"
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// demo is a design of the repository's testdata with its catalogue data.
type demo struct {
	name string
	d    *skidrulev1.Design
	data map[string]*skidrulev1.Component
}

// demos reads the whole designs of testdata that resolve; what is wrong with others is for the tests of those who read them.
func demos(t testing.TB) []demo {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("..", "..", "testdata", "*", "design.yaml"))
	require.NoError(t, err)
	var out []demo
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		file, err := designfile.Read(f, text)
		if err != nil {
			continue
		}
		p, problems := plant.Resolve(file.Design, plant.Catalogues{catalogue.Parts()})
		if len(problems) > 0 {
			continue
		}
		out = append(out, demo{filepath.Base(filepath.Dir(f)), file.Design, p.DataByTag()})
	}
	return out
}

func TestDemosAreClean(t *testing.T) {
	all := demos(t)
	require.NotEmpty(t, all)
	for _, d := range all {
		t.Run(d.name, func(t *testing.T) {
			pages := draw(t, d.d, drawing.Options{Data: d.data})
			for i := range pages {
				t.Logf("sheet %d of %d: %d items %+v", i+1, len(pages), len(pages[i].Sheet.Items), pages[i].Metrics())
				clean(t, &pages[i])
			}
		})
	}
}
