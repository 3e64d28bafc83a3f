package drawing

import (
	"fmt"
	"image/color"
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// paint is how a style looks: names of colours, and widths and dashes in millimetres.
type paint struct {
	stroke, fill string
	width        float64
	dash         []float64
	bold         bool
}

// serviceStyle is how lines of a service are drawn. Weight and dashes tell services apart without colour.
type serviceStyle struct {
	service skidrulev1.Service
	name    string // of the style
	title   string // in the legend
	paint   paint
}

// serviceTable begins with the heaviest lines of the process. Weights are common practice, no source: process lines twice as
// heavy as the others.
func serviceTable() []serviceStyle {
	return []serviceStyle{
		{skidrulev1.Service_SERVICE_UNSPECIFIED, "plain", "service not stated", paint{"ink", "", 0.5, nil, false}},
		{skidrulev1.Service_SERVICE_PROCESS_WATER, "process-water", "process water", paint{"water", "", 0.8, nil, false}},
		{skidrulev1.Service_SERVICE_OZONATED_WATER, "ozonated-water", "ozonated water", paint{"ozonated", "", 0.8, []float64{6, 1.1}, false}},
		{skidrulev1.Service_SERVICE_OZONE_GAS, "ozone-gas", "ozone gas", paint{"ozone", "", 0.7, []float64{4, 0.9, 0.8, 0.9}, false}},
		{skidrulev1.Service_SERVICE_OXYGEN, "oxygen", "oxygen", paint{"oxygen", "", 0.55, nil, false}},
		{skidrulev1.Service_SERVICE_AIR, "air", "air", paint{"air", "", 0.35, nil, false}},
		{skidrulev1.Service_SERVICE_NITROGEN, "nitrogen", "nitrogen", paint{"air", "", 0.5, []float64{3, 0.8, 0.7, 0.8, 0.7, 0.8}, false}},
		{skidrulev1.Service_SERVICE_OFF_GAS, "off-gas", "off-gas", paint{"offgas", "", 0.55, []float64{2.6, 0.8, 0.6, 0.8, 0.6, 0.8}, false}},
		{skidrulev1.Service_SERVICE_TREATED_GAS, "treated-gas", "treated gas", paint{"offgas", "", 0.4, []float64{5, 1.4}, false}},
		{skidrulev1.Service_SERVICE_EXHAUST_GAS, "exhaust-gas", "exhaust gas", paint{"air", "", 0.4, []float64{2.6, 1.1}, false}},
		{skidrulev1.Service_SERVICE_COOLING_WATER, "cooling-water", "cooling water", paint{"water", "", 0.45, []float64{4, 1, 1.2, 1}, false}},
		{skidrulev1.Service_SERVICE_DRAIN_WATER, "drain-water", "drain", paint{"drain", "", 0.45, []float64{1.8, 0.9}, false}},
		{skidrulev1.Service_SERVICE_INSTRUMENT_AIR, "instrument-air", "instrument air", paint{"ink", "", 0.3, []float64{3, 0.6, 0.4, 0.6, 0.4, 0.6}, false}},
	}
}

var serviceOf = func() map[skidrulev1.Service]serviceStyle {
	m := map[skidrulev1.Service]serviceStyle{}
	for _, s := range serviceTable() {
		m[s.service] = s
	}
	return m
}()

func (e *Edge) style() string {
	if e.Signal {
		return "signal"
	}
	if s, ok := serviceOf[e.Service]; ok {
		return "line-" + s.name
	}
	return "line-plain"
}

type styleEntry struct {
	name  string
	paint paint
}

// styleTable lists every style in the order of the style sheet.
func styleTable() []styleEntry {
	t := []styleEntry{
		{"sheet", paint{fill: "paper"}},
		{"frame", paint{stroke: "ink", width: 0.6}},
		{"rule", paint{stroke: "ink", width: 0.25}},
		{"halo", paint{stroke: "hot", width: 3.2}},
		{"halo-ring", paint{stroke: "hot", width: 1.5}},
		{"halo-edge", paint{stroke: "hot-edge", width: 0.35, dash: []float64{1.6, 0.8}}},
		{"halo-plate", paint{fill: "paper"}},
		{"sym-body", paint{stroke: "ink", fill: "paper", width: 0.4}},
		{"sym-thin-body", paint{stroke: "ink", fill: "paper", width: 0.28}},
		{"sym-blank", paint{fill: "paper"}},
		{"sym-line", paint{stroke: "ink", width: 0.4}},
		{"sym-thin", paint{stroke: "ink", width: 0.22}},
		{"sym-dash", paint{stroke: "ink", width: 0.25, dash: []float64{0.9, 0.6}}},
		{"sym-solid", paint{fill: "ink", stroke: "ink", width: 0.25}},
		{"sym-tint", paint{fill: "tint"}},
		{"tap", paint{stroke: "ink", width: 0.25}},
		{"signal", paint{stroke: "ink", width: 0.25, dash: []float64{1.2, 0.8}}},
		{"leader", paint{stroke: "soft", width: 0.18}},
		{"plate", paint{stroke: "soft", fill: "paper", width: 0.18}},
		{"marker-ring", paint{stroke: "ink", fill: "mark", width: 0.5}},
		{"sym-text", paint{fill: "ink"}},
		{"tag", paint{fill: "ink", bold: true}},
		{"note", paint{fill: "soft"}},
		{"line-tag", paint{fill: "ink"}},
		{"value", paint{fill: "ink"}},
		{"marker", paint{fill: "ink", bold: true}},
		{"text", paint{fill: "ink"}},
		{"heading", paint{fill: "ink", bold: true}},
	}
	for _, s := range serviceTable() {
		t = append(t, styleEntry{"line-" + s.name, s.paint})
	}
	return t
}

var styles = func() map[string]paint {
	m := map[string]paint{}
	for _, s := range styleTable() {
		m[s.name] = s.paint
	}
	return m
}()

// tone is a colour of the light and of the dark theme.
type tone struct{ name, light, dark string }

func tones() []tone {
	return []tone{
		{"paper", "#ffffff", "#14181c"},
		{"ink", "#15191d", "#e9edf0"},
		{"soft", "#4c565f", "#a9b4bd"},
		{"tint", "#dbe6ee", "#27353f"},
		{"water", "#10508f", "#7fb6ee"},
		{"ozonated", "#006a6f", "#5fd0cf"},
		{"ozone", "#7a1f86", "#dd97ea"},
		{"oxygen", "#1d6b31", "#86cf97"},
		{"air", "#3f4a54", "#b7c2cb"},
		{"offgas", "#8f4a00", "#eeb070"},
		{"drain", "#55606a", "#9aa8b3"},
		{"hot", "#ffd257", "#7a5b00"},
		{"hot-edge", "#7a5200", "#ffd257"},
		{"mark", "#fff1c2", "#5c4700"},
	}
}

func (t Theme) colours() map[string]color.RGBA {
	m := map[string]color.RGBA{}
	for _, c := range tones() {
		hex := c.light
		if t == ThemeDark {
			hex = c.dark
		}
		var r, g, b uint8
		// The table is constant; a test reads every tone.
		_, _ = fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b)
		m[c.name] = color.RGBA{r, g, b, 255}
	}
	return m
}

// styleSheet writes the style sheet of a drawing. Classes begin with sk-, custom properties with --sk-.
func styleSheet(b *strings.Builder, t Theme) {
	vars := func(dark bool) {
		for _, c := range tones() {
			v := c.light
			if dark {
				v = c.dark
			}
			fmt.Fprintf(b, "--sk-%s:%s;", c.name, v)
		}
	}
	const root = ".sk-drawing"
	b.WriteString(root + "{")
	vars(t == ThemeDark)
	b.WriteString("}\n")
	if t == ThemeAuto {
		b.WriteString("@media screen and (prefers-color-scheme:dark){" + root + "{")
		vars(true)
		b.WriteString("}}\n")
		// A page that hosts the drawing may choose for itself.
		b.WriteString("@media screen{[data-theme=light] " + root + "{")
		vars(false)
		b.WriteString("}[data-theme=dark] " + root + "{")
		vars(true)
		b.WriteString("}}\n")
	}
	b.WriteString("@media print{" + root + "{")
	vars(false)
	b.WriteString("}}\n")
	b.WriteString(root + " text{font-family:sans-serif;stroke:none}\n")
	b.WriteString(root + " .sk-halo{display:none}" + root + " .sk-hot>.sk-halo{display:inline}\n")
	for _, s := range styleTable() {
		p := s.paint
		fmt.Fprintf(b, "%s .sk-%s{", root, s.name)
		if p.fill != "" {
			fmt.Fprintf(b, "fill:var(--sk-%s);", p.fill)
		} else {
			b.WriteString("fill:none;")
		}
		if p.stroke != "" {
			fmt.Fprintf(b, "stroke:var(--sk-%s);stroke-width:%s;stroke-linejoin:round;", p.stroke, num(p.width))
			if len(p.dash) > 0 {
				b.WriteString("stroke-dasharray:")
				for i, d := range p.dash {
					if i > 0 {
						b.WriteByte(' ')
					}
					b.WriteString(num(d))
				}
				b.WriteByte(';')
			} else {
				b.WriteString("stroke-linecap:round;")
			}
		} else if strings.HasPrefix(s.name, "halo-") {
			// It has the class of the halo as well, which has a stroke.
			b.WriteString("stroke:none;")
		}
		if p.bold {
			b.WriteString("font-weight:bold;")
		}
		b.WriteString("}\n")
	}
}
