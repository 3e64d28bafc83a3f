package commission

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// maxSheetBytes bounds a file of readings.
const maxSheetBytes = 256 << 10

// Sheet is a file of readings.
type Sheet struct {
	// Case is the id of the operating case; empty where the file names none.
	Case     string
	Readings []*skidrulev1.SiteReading
}

// ParseReading reads one reading as people write it: a value with its unit, as "3.1 bar", which at a gauge is gauge pressure, "6 m3/h"
// or "5.9 NL/min"; behind it, if wanted, how well it is known: "± 0.05 bar" or "+- 0.05 bar", "± 2 %" of the value, or "class 1.6" in
// per cent of the span.
func ParseReading(place, text string) (*skidrulev1.SiteReading, error) {
	place = strings.TrimSpace(place)
	if place == "" {
		return nil, fmt.Errorf("a reading needs the tag of what was read, as PI-1")
	}
	value, accuracy := text, ""
	for _, mark := range []string{"±", "+-", "+/-"} {
		if a, b, ok := strings.Cut(text, mark); ok {
			value, accuracy = a, strings.TrimSpace(b)
			if accuracy == "" {
				return nil, fmt.Errorf("%s: nothing follows %s", place, mark)
			}
			break
		}
	}
	class := ""
	if a, b, ok := strings.Cut(text, "class"); ok && accuracy == "" {
		if value, class = a, strings.TrimSpace(b); class == "" {
			return nil, fmt.Errorf("%s: no number follows class", place)
		}
	}
	r := &skidrulev1.SiteReading{Place: place}
	if err := setValue(r, strings.TrimSpace(value)); err != nil {
		return nil, fmt.Errorf("%s: %w", place, err)
	}
	switch {
	case accuracy != "":
		if err := setUncertainty(r, accuracy); err != nil {
			return nil, fmt.Errorf("%s: %w", place, err)
		}
	case class != "":
		if err := setClass(r, class); err != nil {
			return nil, fmt.Errorf("%s: %w", place, err)
		}
	}
	return r, nil
}

// setValue reads a value: the unit tells what it is.
func setValue(r *skidrulev1.SiteReading, text string) error {
	gauge, err := quantity.Parse(text, quantity.PressureGauge)
	if err == nil {
		r.Value = &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: gauge}
		return nil
	}
	if x, err := quantity.Parse(text, quantity.PressureDifference); err == nil {
		r.Value = &skidrulev1.SiteReading_PressurePaGauge{PressurePaGauge: x}
		return nil
	}
	if x, err := quantity.Parse(text, quantity.LiquidFlow); err == nil {
		r.Value = &skidrulev1.SiteReading_LiquidFlowM3PerS{LiquidFlowM3PerS: x}
		return nil
	}
	if x, err := quantity.Parse(text, quantity.GasFlow); err == nil {
		r.Value = &skidrulev1.SiteReading_GasFlowMolPerS{GasFlowMolPerS: x}
		return nil
	}
	var detail *quantity.Error
	if errors.As(err, &detail) && detail.Suggestion != "" {
		return fmt.Errorf("%q is no pressure, water flow or gas flow (as a pressure: %s; %s); write 3.1 bar, 6 m3/h or 5.9 NL/min", text, detail.Problem, detail.Suggestion)
	}
	return fmt.Errorf("%q is no pressure, water flow or gas flow; write 3.1 bar, 6 m3/h or 5.9 NL/min", text)
}

// setUncertainty reads limits of error: in per cent of the value, or in the unit of the value.
func setUncertainty(r *skidrulev1.SiteReading, text string) error {
	if share, ok := strings.CutSuffix(text, "%"); ok {
		x, err := strconv.ParseFloat(strings.TrimSpace(share), 64)
		if err != nil || !(x > 0 && x <= 100) {
			return fmt.Errorf("an uncertainty of %q is no share of the value; write 2 %%", text)
		}
		r.Accuracy = &skidrulev1.SiteReading_UncertaintyRatio{UncertaintyRatio: x / 100}
		return nil
	}
	d := quantity.PressureDifference
	switch r.GetValue().(type) {
	case *skidrulev1.SiteReading_LiquidFlowM3PerS:
		d = quantity.LiquidFlow
	case *skidrulev1.SiteReading_GasFlowMolPerS:
		d = quantity.GasFlow
	}
	x, err := quantity.Parse(text, d)
	if err != nil {
		return fmt.Errorf("the uncertainty %w", err)
	}
	if !(x > 0) {
		return fmt.Errorf("an uncertainty of %q is none that an instrument has; it must be above zero", text)
	}
	r.Accuracy = &skidrulev1.SiteReading_Uncertainty{Uncertainty: x}
	return nil
}

func setClass(r *skidrulev1.SiteReading, text string) error {
	x, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	if err != nil || !(x > 0 && x <= 100) {
		return fmt.Errorf("class %q is no accuracy class in per cent of the span, as 1.6", text)
	}
	r.Accuracy = &skidrulev1.SiteReading_AccuracyClassPercent{AccuracyClassPercent: x}
	return nil
}

// sheet reads a file and gathers what is wrong with it.
type sheet struct {
	name     string
	problems designfile.Problems
}

func (s *sheet) wrong(n *yaml.Node, path, message, suggestion string) {
	p := designfile.Problem{File: s.name, Path: path, Message: message, Suggestion: suggestion}
	if n != nil {
		p.Line, p.Column = n.Line, n.Column
	}
	s.problems.List = append(s.problems.List, p)
}

// ReadSheet reads a file of readings in YAML or JSON:
//
//	case: normal
//	readings:
//	  PI-1: 3.5 bar
//	  PI-2: 1.1 bar ± 0.04 bar
//	  FM-1: {value: 5.9 NL/min, uncertainty: 5 %}
//	  PI-3: {value: -0.28 bar, class: 1}
//
// The error is a *designfile.Problems with everything that is wrong with it.
func ReadSheet(name string, data []byte) (*Sheet, error) {
	s := &sheet{name: name}
	if len(data) > maxSheetBytes {
		s.wrong(nil, "", fmt.Sprintf("the file has %d bytes, and readings need at most %d", len(data), maxSheetBytes), "give the readings of one moment")
		return nil, &s.problems
	}
	loader, err := yaml.NewLoader(bytes.NewReader(data), yaml.WithV4Defaults(), yaml.WithPlugin(loaderlimits.New(loaderlimits.DepthValue(8), loaderlimits.AliasNone())))
	if err != nil {
		return nil, err
	}
	var document yaml.Node
	switch err := loader.Load(&document); {
	case errors.Is(err, io.EOF):
		s.wrong(nil, "", "the file is empty", "write readings: and below it lines as PI-1: 3.5 bar")
	case err != nil:
		s.wrong(nil, "", "this is no YAML: "+strings.TrimSpace(err.Error()), "")
	case document.Kind != yaml.DocumentNode || len(document.Content) != 1 || document.Content[0].Kind != yaml.MappingNode:
		s.wrong(&document, "", "the file holds no keys", "write readings: and below it lines as PI-1: 3.5 bar")
	}
	if len(s.problems.List) > 0 {
		return nil, &s.problems
	}
	out := &Sheet{}
	seen := false
	s.pairs(document.Content[0], "", func(key string, k, v *yaml.Node) {
		switch key {
		case "case":
			if out.Case = v.Value; v.Kind != yaml.ScalarNode || v.Value == "" {
				s.wrong(v, "case", "this is no id of an operating case", "write case: normal")
			}
		case "readings":
			seen = true
			if v.Kind != yaml.MappingNode {
				s.wrong(v, "readings", "these are no readings", "write lines as PI-1: 3.5 bar")
				return
			}
			s.pairs(v, "readings.", func(place string, k, v *yaml.Node) {
				if r := s.reading(place, k, v); r != nil {
					out.Readings = append(out.Readings, r)
				}
			})
		default:
			s.wrong(k, key, "there is no such key in a file of readings", "known are case and readings")
		}
	})
	if !seen {
		s.wrong(document.Content[0], "", "the file has no key readings", "write readings: and below it lines as PI-1: 3.5 bar")
	}
	if len(s.problems.List) > 0 {
		return nil, &s.problems
	}
	return out, nil
}

// pairs goes through a mapping; a key that comes twice is a problem.
func (s *sheet) pairs(n *yaml.Node, path string, f func(key string, k, v *yaml.Node)) {
	seen := map[string]bool{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if k.Kind != yaml.ScalarNode {
			s.wrong(k, path, "a key must be a word", "")
			continue
		}
		if seen[k.Value] {
			s.wrong(k, path+k.Value, "the key comes twice", "give the readings of one moment")
			continue
		}
		seen[k.Value] = true
		f(k.Value, k, v)
	}
}

func (s *sheet) reading(place string, k, v *yaml.Node) *skidrulev1.SiteReading {
	path := "readings." + place
	if v.Kind == yaml.ScalarNode {
		r, err := ParseReading(place, v.Value)
		if err != nil {
			s.wrong(v, path, err.Error(), "")
		}
		return r
	}
	if v.Kind != yaml.MappingNode {
		s.wrong(v, path, "this is no reading", "write "+place+": 3.5 bar, or {value: 3.5 bar, uncertainty: 50 mbar}")
		return nil
	}
	r := &skidrulev1.SiteReading{Place: place}
	fields := map[string]*yaml.Node{}
	s.pairs(v, path+".", func(key string, k, v *yaml.Node) {
		switch {
		case key != "value" && key != "uncertainty" && key != "class":
			s.wrong(k, path+"."+key, "a reading has no such key", "known are value, uncertainty and class")
		case v.Kind != yaml.ScalarNode:
			s.wrong(v, path+"."+key, "this is no single value", "")
		default:
			fields[key] = v
		}
	})
	value := fields["value"]
	if value == nil {
		s.wrong(k, path, "the reading has no value", "write {value: 3.5 bar}")
		return nil
	}
	if err := setValue(r, strings.TrimSpace(value.Value)); err != nil {
		s.wrong(value, path+".value", err.Error(), "")
		return nil
	}
	u, c := fields["uncertainty"], fields["class"]
	if u != nil && c != nil {
		s.wrong(c, path+".class", "the reading has both an uncertainty and a class", "give one of them")
		return nil
	}
	if u != nil {
		if err := setUncertainty(r, strings.TrimSpace(u.Value)); err != nil {
			s.wrong(u, path+".uncertainty", err.Error(), "")
		}
	}
	if c != nil {
		if err := setClass(r, c.Value); err != nil {
			s.wrong(c, path+".class", err.Error(), "")
		}
	}
	return r
}
