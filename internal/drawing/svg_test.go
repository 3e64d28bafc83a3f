package drawing_test

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"fmt"
	"image/png"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"

	"github.com/skidrule/skidrule/internal/drawing"
)

// element is what a test wants to know of one element of an SVG.
type element struct {
	name  string
	attrs map[string]string
}

func parse(t testing.TB, svg []byte) (elements []element, text string) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(svg))
	var b strings.Builder
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return elements, b.String()
		}
		require.NoError(t, err)
		switch v := tok.(type) {
		case xml.StartElement:
			e := element{v.Name.Local, map[string]string{}}
			for _, a := range v.Attr {
				e.attrs[a.Name.Local] = a.Value
			}
			elements = append(elements, e)
		case xml.CharData:
			b.Write(v)
			b.WriteByte('\n')
		}
	}
}

func TestSVGNamesEveryThing(t *testing.T) {
	d := skid()
	pages := draw(t, d, drawing.Options{Date: "2026-01-15", IDPrefix: "d1-"})
	require.Len(t, pages, 1)
	elements, text := parse(t, pages[0].SVG())
	ids := map[string]bool{}
	tags, lines := map[string]int{}, map[string]int{}
	for _, e := range elements {
		if id := e.attrs["id"]; id != "" {
			assert.False(t, ids[id], "id %s twice", id)
			assert.True(t, strings.HasPrefix(id, "d1-"), id)
			ids[id] = true
		}
		if e.name == "g" && e.attrs["data-tag"] != "" {
			tags[e.attrs["data-tag"]]++
		}
		if e.attrs["data-from"] != "" {
			lines[e.attrs["data-line"]]++
		}
		for _, a := range []string{"href", "src"} {
			assert.NotContains(t, e.attrs, a, "nothing comes from outside")
		}
		assert.NotEqual(t, "script", e.name)
	}
	for _, c := range d.Components {
		assert.Equal(t, 1, tags[c.Tag], "component %s", c.Tag)
		assert.True(t, ids["d1-item-"+c.Tag], "id of %s", c.Tag)
	}
	for _, l := range d.Lines {
		assert.Equal(t, len(l.Route)-1, lines[l.Tag], "hops of %s", l.Tag)
		assert.Contains(t, text, l.Tag)
	}
	assert.NotContains(t, text, "@import")
	assert.NotContains(t, text, "url(")
	for _, want := range []string{d.Name, "2026-01-15", "1 of 1", "invented data", "ozone gas", "process water"} {
		assert.Contains(t, text, want)
	}
}

func TestTextIsEscapedAndCut(t *testing.T) {
	s := newSketch(`</text><script>alert("x")</script>`)
	s.add("pump", "P-1", `a "b" & <c> `+strings.Repeat("long ", 300)).add("boundary", "B-1", "\x00\x08 control", boundary(roleIn)).
		add("boundary", "B-2", "ok", boundary(roleOut)).
		line("W-1", water, strings.Repeat("9", 5000), "B-1 > P-1 > B-2")
	s.d.Lines[0].Size.Designation = strings.Repeat("<>", 4000)
	o := drawing.Options{Date: "<&>", Overlay: drawing.Overlay{Case: "<b>", Markers: []drawing.Marker{{Number: 1, Tag: "P-1", Text: strings.Repeat("<i>&", 1000)}},
		Values: []drawing.Value{{Tag: "P-1", Rows: []string{"<5>"}}}}}
	svg := draw(t, s.d, o)[0].SVG()
	elements, _ := parse(t, svg)
	for _, e := range elements {
		assert.Contains(t, []string{"svg", "g", "path", "circle", "text", "title", "style"}, e.name)
	}
	assert.Less(t, len(svg), 100_000)
}

func TestTagsOfOddLettersKeepTheirIDsApart(t *testing.T) {
	s := newSketch("odd")
	s.add("pump", "P/1", "").add("pump", "P.2f1", "").add("pump", "P 1", "").add("pump", "Ü", "")
	elements, _ := parse(t, draw(t, s.d, drawing.Options{})[0].SVG())
	ids := map[string]bool{}
	for _, e := range elements {
		if id := e.attrs["id"]; id != "" {
			assert.False(t, ids[id], id)
			assert.NotContains(t, id, " ")
			assert.NotContains(t, id, "/")
			ids[id] = true
		}
	}
}

func TestOverlay(t *testing.T) {
	o := drawing.Options{Overlay: drawing.Overlay{
		Case:    "pump stopped",
		Path:    drawing.Path{Components: []string{"INJ-101", "CV-102", "CV-101"}, Lines: []string{"OZ-101"}},
		Markers: []drawing.Marker{{Number: 1, Tag: "CV-102", Text: "first"}, {Number: 2, Tag: "OZ-101", Text: "second"}, {Number: 3, Tag: "nothing", Text: "third"}},
		Values:  []drawing.Value{{Tag: "P-101", Rows: []string{"40 L/min", "3.2 bar(g)"}}, {Tag: "W-103", Rows: []string{"38 L/min"}}, {Tag: "nothing", Rows: []string{"unseen"}}},
	}}
	pages := draw(t, skid(), o)
	clean(t, &pages[0])
	elements, text := parse(t, pages[0].SVG())
	hot := map[string]bool{}
	for _, e := range elements {
		if strings.HasSuffix(e.attrs["class"], "sk-hot") {
			if e.attrs["data-from"] != "" {
				hot[e.attrs["data-from"]+">"+e.attrs["data-to"]] = true
			} else {
				hot[e.attrs["data-tag"]] = true
			}
		}
	}
	assert.Equal(t, map[string]bool{"INJ-101": true, "CV-102": true, "CV-101": true, "CV-101>CV-102": true, "CV-102>INJ-101": true}, hot)
	for _, want := range []string{"CV-102: first", "OZ-101: second", "nothing: third", "40 L/min", "3.2 bar(g)", "38 L/min", "pump stopped"} {
		assert.Contains(t, text, want)
	}
	assert.NotContains(t, text, "unseen", "a value of a thing that is not there has no place")
}

func TestLongListSaysWhatItLeavesOut(t *testing.T) {
	var o drawing.Options
	for i := range 300 {
		o.Overlay.Markers = append(o.Overlay.Markers, drawing.Marker{Number: i + 1, Tag: "P-101", Text: strings.Repeat("word ", 40)})
	}
	_, text := parse(t, draw(t, skid(), o)[0].SVG())
	assert.Regexp(t, `\d+ more are not listed here`, text)
}

func TestElevationsOnRequest(t *testing.T) {
	d := skid()
	z := 1.25
	d.Components[0].ElevationM = &z
	_, without := parse(t, draw(t, d, drawing.Options{})[0].SVG())
	_, with := parse(t, draw(t, d, drawing.Options{Elevations: true})[0].SVG())
	assert.NotContains(t, without, "EL 1.25 m")
	assert.Contains(t, with, "EL 1.25 m")
}

func TestThemes(t *testing.T) {
	style := func(th drawing.Theme) string { return string(draw(t, skid(), drawing.Options{Theme: th})[0].SVG()) }
	assert.Contains(t, style(drawing.ThemeAuto), "prefers-color-scheme:dark")
	assert.NotContains(t, style(drawing.ThemeLight), "prefers-color-scheme")
	for _, th := range []drawing.Theme{drawing.ThemeAuto, drawing.ThemeLight, drawing.ThemeDark} {
		assert.Contains(t, style(th), "@media print{.sk-drawing{--sk-paper:#ffffff;", "print is light")
	}
}

func TestPNG(t *testing.T) {
	page := draw(t, skid(), drawing.Options{})[0]
	dark := draw(t, skid(), drawing.Options{Theme: drawing.ThemeDark})[0]
	for _, p := range []struct {
		page *drawing.Page
		dark bool
	}{{&page, false}, {&dark, true}} {
		b, err := p.page.PNG(72)
		require.NoError(t, err)
		img, err := png.Decode(bytes.NewReader(b))
		require.NoError(t, err)
		assert.Equal(t, int(math.Ceil(420*72/25.4)), img.Bounds().Dx())
		assert.Equal(t, int(math.Ceil(297*72/25.4)), img.Bounds().Dy())
		r, _, _, _ := img.At(5, 5).RGBA()
		assert.Equal(t, p.dark, r < 0x8000, "paper")
		inked := 0
		for y := range img.Bounds().Dy() {
			for x := range img.Bounds().Dx() {
				v, _, _, _ := img.At(x, y).RGBA()
				inked += map[bool]int{true: 1}[(v < 0x8000) != p.dark]
			}
		}
		share := float64(inked) / float64(img.Bounds().Dx()*img.Bounds().Dy())
		assert.InDelta(t, 0.03, share, 0.025, "share of the sheet that is inked; drawings lie well below a tenth")
	}
	for _, dpi := range []int{-1, 0, 19, 601, 1 << 30} {
		_, err := page.PNG(dpi)
		assert.ErrorContains(t, err, "20 to 600")
	}
}

func TestSameBytesEachTime(t *testing.T) {
	for _, d := range []*skidrulev1.Design{skid(), manifold(), trains(6, false)} {
		a, b := draw(t, d, drawing.Options{}), draw(t, d, drawing.Options{})
		require.Len(t, b, len(a))
		for i := range a {
			assert.Equal(t, a[i].SVG(), b[i].SVG())
		}
	}
}

func TestEndedContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := drawing.Draw(ctx, skid(), drawing.Options{})
	assert.ErrorIs(t, err, context.Canceled)
}

func TestWrongDesignsAreNamed(t *testing.T) {
	position := func(x, y *float64) func(*skidrulev1.Component) {
		return func(c *skidrulev1.Component) { c.Position = &skidrulev1.SheetPosition{X: x, Y: y} }
	}
	one, nan, wide := 1.0, math.NaN(), 1e9
	hop := func(route string) *sketch {
		return newSketch("x").add("pump", "P-1", "").add("pump", "P-2", "").add("power_supply", "PS-1", "").line("W-1", water, "", route)
	}
	for name, c := range map[string]struct {
		d    *skidrulev1.Design
		want string
	}{
		"no design":       {nil, "there is none"},
		"no tag":          {newSketch("x").add("pump", "", "").d, "component 1 has no tag"},
		"tag twice":       {newSketch("x").add("pump", "P-1", "").add("pump", "P-1", "").d, `components 1 and 2 have the same tag "P-1"`},
		"half a position": {newSketch("x").add("pump", "P-1", "", position(&one, nil)).d, "needs both x and y"},
		"no number":       {newSketch("x").add("pump", "P-1", "", position(&nan, &one)).d, "from 0 to 1000"},
		"far away":        {newSketch("x").add("pump", "P-1", "", position(&wide, &one)).d, "from 0 to 1000"},
		"unknown stop":    {hop("P-1 > P-9").d, `line W-1, stop 2: there is no component "P-9"`},
		"unknown port":    {hop("P-1 > P-2.suction").d, `has no port "suction"; it has inlet, outlet`},
		"no ports":        {hop("P-1 > PS-1").d, "has no ports"},
		"short route":     {hop("P-1").d, "at least 2"},
		"line twice":      {hop("P-1 > P-2").line("W-1", water, "", "P-2 > P-1").d, "line W-1 is there twice"},
		"line untagged":   {newSketch("x").add("pump", "P-1", "").line("", water, "", "P-1 > P-1").d, "line 1 has no tag"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := drawing.Draw(context.Background(), c.d, drawing.Options{})
			require.ErrorIs(t, err, drawing.ErrDesign)
			assert.ErrorContains(t, err, c.want)
		})
	}
	crowded := newSketch("x").add("header", "H-1", "").add("header", "H-2", "")
	for i := range 500 {
		crowded.line(fmt.Sprintf("W-%d", i), water, "", "H-1 > H-2")
	}
	_, err := drawing.Draw(context.Background(), crowded.d, drawing.Options{})
	assert.ErrorContains(t, err, "at most 400 can be laid out")
	_, err = drawing.Draw(context.Background(), skid(), drawing.Options{SheetCapacity: -1})
	assert.ErrorContains(t, err, "sheet capacity")
}

func TestBareDesigns(t *testing.T) {
	for _, d := range []*skidrulev1.Design{{}, {Components: []*skidrulev1.Component{{Tag: "X-1"}}}, {Components: []*skidrulev1.Component{{Tag: "X-1"}, {Tag: "X-2"}},
		Lines: []*skidrulev1.Line{{Tag: "L-1", Route: []*skidrulev1.RouteStop{{Tag: "X-1"}, {Tag: "X-2"}, {Tag: "X-1"}, {Tag: "X-1"}}}}}} {
		pages := draw(t, d, drawing.Options{})
		require.Len(t, pages, 1)
		parse(t, pages[0].SVG())
	}
}

// Lines that crowd at a few symbols have ports far beyond them; the ways still lead from port to port.
func TestPortsBeyondTheirSymbols(t *testing.T) {
	s := newSketch("crowd").add("pump", "X-0", "").add("pump", "X-1", "").add("pump", "X-2", "").add("header", "X-3", "")
	for i, ends := range [][2]int{{1, 0}, {3, 0}, {1, 3}, {1, 0}, {0, 1}, {2, 2}, {2, 0}, {3, 1}, {1, 3}, {1, 3}, {0, 1}, {1, 1}, {1, 0}, {0, 0},
		{3, 0}, {0, 3}, {0, 0}, {3, 3}, {0, 0}, {1, 1}, {1, 0}, {0, 0}, {2, 2}, {1, 0}, {0, 3}, {3, 1}, {1, 3}} {
		s.line(fmt.Sprintf("L-%d", i), water, "15", fmt.Sprintf("X-%d > X-%d", ends[0], ends[1]))
	}
	for _, p := range draw(t, s.d, drawing.Options{}) {
		for _, e := range p.Sheet.Edges {
			from, to := &p.Sheet.Items[e.From.Item], &p.Sheet.Items[e.To.Item]
			require.GreaterOrEqual(t, len(e.Path), 2, e.Line)
			assert.Equal(t, from.PortAt(e.From.Port), e.Path[0], e.Line)
			assert.Equal(t, to.PortAt(e.To.Port), e.Path[len(e.Path)-1], e.Line)
		}
	}
}

// TestAnyGraphIsLegal draws random diagrams: whatever is joined to whatever, lines run at right angles and end at their ports.
func TestAnyGraphIsLegal(t *testing.T) {
	kinds := []string{"pump", "hand_valve", "check_valve", "tee", "contact_vessel", "venturi_injector", "knock_out_pot", "drain_point",
		"atmosphere_vent", "pressure_gauge", "boundary", "header", "junction", "relief_valve", "ozone_generator", "float_drain", "other", "three_way_valve"}
	rapid.Check(t, func(t *rapid.T) {
		s := newSketch("any")
		n := rapid.IntRange(1, 24).Draw(t, "components")
		for i := range n {
			s.add(rapid.SampledFrom(kinds).Draw(t, "kind"), fmt.Sprintf("X-%d", i), "", func(c *skidrulev1.Component) {
				if rapid.IntRange(0, 9).Draw(t, "placed") == 0 {
					x, y := rapid.Float64Range(0, 150).Draw(t, "x"), rapid.Float64Range(0, 90).Draw(t, "y")
					c.Position = &skidrulev1.SheetPosition{X: &x, Y: &y}
				}
			})
		}
		for i := range rapid.IntRange(0, 30).Draw(t, "lines") {
			a, b := rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(0, n-1).Draw(t, "to")
			s.line(fmt.Sprintf("L-%d", i), water, "15", fmt.Sprintf("X-%d > X-%d", a, b))
		}
		pages, err := drawing.Draw(context.Background(), s.d, drawing.Options{SheetCapacity: rapid.IntRange(4, 30).Draw(t, "capacity")})
		if err != nil {
			t.Fatal(err)
		}
		for i := range pages {
			for _, e := range pages[i].Sheet.Edges {
				if len(e.Path) < 2 {
					t.Fatalf("line %s has no way", e.Line)
				}
				from, to := &pages[i].Sheet.Items[e.From.Item], &pages[i].Sheet.Items[e.To.Item]
				if e.Path[0] != from.PortAt(e.From.Port) || e.Path[len(e.Path)-1] != to.PortAt(e.To.Port) {
					t.Fatalf("line %s does not end at its ports", e.Line)
				}
				for k := range len(e.Path) - 1 {
					if a, b := e.Path[k], e.Path[k+1]; a.X != b.X && a.Y != b.Y {
						t.Fatalf("line %s slants", e.Line)
					}
				}
			}
			if len(pages[i].SVG()) == 0 {
				t.Fatal("no picture")
			}
		}
	})
}
