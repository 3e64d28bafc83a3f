package designfile

import (
	"errors"
	"fmt"
	"strings"

	"go.yaml.in/yaml/v4"
	"google.golang.org/protobuf/reflect/protoreflect"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// short reads a message that is spelt as a short text. It returns false for a
// message that is spelt as a mapping.
func (w *walker) short(f *fieldSpec, n *yaml.Node, m protoreflect.Message, path string) bool {
	if f.form != skidrulev1.TextForm_TEXT_FORM_NOMINAL_SIZE || n.Kind != yaml.ScalarNode || isNull(n) {
		return false
	}
	system, designation, err := parseSize(n.Value)
	if err != nil {
		w.quantityProblem(err, f, n, path)
		return true
	}
	if size, ok := m.Interface().(*skidrulev1.NominalSize); ok {
		size.System, size.Designation = system, designation
	}
	return true
}

// parseSize reads the text of a nominal size.
func parseSize(text string) (skidrulev1.SizeSystem, string, error) {
	size, err := quantity.ParseNominalSize(text)
	if err != nil {
		return 0, "", err
	}
	var system skidrulev1.SizeSystem
	switch size.System {
	case quantity.NPS:
		system = skidrulev1.SizeSystem_SIZE_SYSTEM_NPS
	case quantity.DN:
		system = skidrulev1.SizeSystem_SIZE_SYSTEM_DN
	case quantity.TubeOD:
		system = skidrulev1.SizeSystem_SIZE_SYSTEM_OUTSIDE_DIAMETER
	case quantity.HoseID:
		system = skidrulev1.SizeSystem_SIZE_SYSTEM_INSIDE_DIAMETER
	default:
		return 0, "", errors.New("a size of an unknown system")
	}
	return system, strings.TrimPrefix(size.String(), size.System.String()+" "), nil
}

// SizeText spells a nominal size as design files do: 1 1/2 in, DN 40, OD 12 mm,
// ID 10 mm. It is empty where the size states no system.
func SizeText(size *skidrulev1.NominalSize) string {
	switch size.GetSystem() {
	case skidrulev1.SizeSystem_SIZE_SYSTEM_NPS:
		return size.GetDesignation() + " in"
	case skidrulev1.SizeSystem_SIZE_SYSTEM_DN:
		return "DN " + size.GetDesignation()
	case skidrulev1.SizeSystem_SIZE_SYSTEM_OUTSIDE_DIAMETER:
		return "OD " + size.GetDesignation()
	case skidrulev1.SizeSystem_SIZE_SYSTEM_INSIDE_DIAMETER:
		return "ID " + size.GetDesignation()
	}
	return ""
}

// sizeText is [SizeText], and false for a size that no text leads back to.
func sizeText(size *skidrulev1.NominalSize) (string, bool) {
	text := SizeText(size)
	system, designation, err := parseSize(text)
	return text, err == nil && system == size.GetSystem() && designation == size.GetDesignation()
}

// stop reads one stop of a route.
func (w *walker) stop(n *yaml.Node, m protoreflect.Message, first, last bool, path string) {
	if isNull(n) {
		w.problem(n, path, "a stop without a tag", "write the tag of a component, or remove the dash")
		return
	}
	stop, err := parseStop(n.Value, first, last)
	if err != nil {
		w.problem(n, path, "stop "+quote(n.Value)+": "+err.Error(), "write TAG, TAG.port, or TAG.enter>leave between two others")
		return
	}
	if r, ok := m.Interface().(*skidrulev1.RouteStop); ok {
		r.Tag, r.Enter, r.Leave = stop.Tag, stop.Enter, stop.Leave
	}
}

// parseStop reads the text of a stop. A single port is left at the first stop,
// entered at the last one, and both between.
func parseStop(text string, first, last bool) (*skidrulev1.RouteStop, error) {
	tag, ports, named := strings.Cut(strings.TrimSpace(text), ".")
	if !validTag(tag) {
		return nil, fmt.Errorf("%s is no tag (letters, digits, \"-\", \"_\" and \"/\", first a letter or digit, at most %d)", quote(tag), maxTag)
	}
	stop := &skidrulev1.RouteStop{Tag: tag}
	if !named {
		return stop, nil
	}
	enter, leave, both := strings.Cut(ports, ">")
	enter, leave = strings.TrimSpace(enter), strings.TrimSpace(leave)
	for _, port := range []string{enter, leave} {
		if !validTag(port) && (both || port != "") || enter == "" {
			return nil, fmt.Errorf("%s is no name of a port", quote(port))
		}
	}
	switch {
	case both && first:
		return nil, errors.New("the first stop names only the port that the line leaves by")
	case both && last:
		return nil, errors.New("the last stop names only the port that the line enters by")
	case both:
		stop.Enter, stop.Leave = enter, leave
	case first:
		stop.Leave = enter
	case last:
		stop.Enter = enter
	default:
		stop.Enter, stop.Leave = enter, enter
	}
	return stop, nil
}

// stopText spells a stop as a text. It returns false for a stop that no text
// leads back to.
func stopText(stop *skidrulev1.RouteStop, first, last bool) (string, bool) {
	text := stop.GetTag()
	switch {
	case stop.GetEnter() == "" && stop.GetLeave() == "":
	case first:
		text += "." + stop.GetLeave()
	case last, stop.GetEnter() == stop.GetLeave():
		text += "." + stop.GetEnter()
	default:
		text += "." + stop.GetEnter() + ">" + stop.GetLeave()
	}
	back, err := parseStop(text, first, last)
	return text, err == nil && back.Tag == stop.GetTag() && back.Enter == stop.GetEnter() && back.Leave == stop.GetLeave()
}
