package fact

import (
	"github.com/skidrule/skidrule/internal/plant"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// What several rules ask of every component or line is read in one pass and kept side by side. Each component is a message of its
// own somewhere in memory, so that looking into all of them once for every rule takes longer than the rules themselves.

// statedPart is what is kept of a component.
type statedPart struct {
	body, seat, seal skidrulev1.Material
	interval         bool // a service interval above zero is stated
	wearing          bool // parts that wear are stated
	master           bool // what commands it is stated
}

// statedLine is what is kept of a line.
type statedLine struct {
	service  skidrulev1.Service
	material skidrulev1.Material
	twoBores bool // its inner diameter and a wall are stated
}

// parts gives what is kept of all components, by index.
func (w *World) parts() []statedPart { return *w.drawing.parts.get(w.readParts) }

func (w *World) readParts() *[]statedPart {
	out := make([]statedPart, len(w.Plant.Components))
	for i := range out {
		c := &w.Plant.Components[i]
		part := statedPart{
			body: c.Data.GetBodyMaterial(), seat: c.Data.GetSeatMaterial(), seal: c.Data.GetSealMaterial(),
			interval: c.Data.GetServiceIntervalS() > 0,
			wearing:  len(c.Data.GetWearingParts()) > 0,
			master:   c.Data.GetCommandedBy() != "",
		}
		if part.seal == skidrulev1.Material_MATERIAL_UNSPECIFIED && c.Kind == plant.KindPump {
			// A pump may state that of its shaft seal beside its own kind's data.
			part.seal = c.Data.GetPump().GetSealMaterial()
		}
		out[i] = part
	}
	return &out
}

// lines gives what is kept of all lines, by index.
func (w *World) lines() []statedLine { return *w.drawing.lines.get(w.readLines) }

func (w *World) readLines() *[]statedLine {
	out := make([]statedLine, len(w.Plant.Lines))
	for i := range out {
		data := w.Plant.Lines[i].Data
		out[i] = statedLine{data.GetService(), data.GetMaterial(), data.InnerDiameterM != nil && data.WallThicknessM != nil}
	}
	return &out
}

// carriesGas tells whether a line is for gas, and whether it states for what it is.
func (w *World) carriesGas(line int32) (gas, known bool) { return isGas(w.lines()[line].service) }
