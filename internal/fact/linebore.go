package fact

import (
	"math"

	"github.com/skidrule/skidrule/internal/designfile"
	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// LineBore is the inner diameter of a line in m: what it states, else what size and wall give.
func (w *World) LineBore(line int32) Number {
	data := w.Plant.Lines[line].Data
	if data.InnerDiameterM == nil {
		outer := data.OuterDiameterM
		if size := w.lineSize(line); size.stated {
			if inside, ok := size.InsideDiameter(); ok {
				return Exactly(inside)
			}
			if outside, ok := size.OutsideDiameter(); ok && outer == nil {
				outer = &outside
			}
		}
		if outer != nil && data.WallThicknessM != nil && *outer > 2*(*data.WallThicknessM) {
			return Exactly(*outer - 2*(*data.WallThicknessM))
		}
	}
	return w.number(data.InnerDiameterM, lineRef(line, "inner_diameter"))
}

// nominalSize reads a size once for each spelling: a plant has few sizes and many ends.
func (w *World) nominalSize(s *skidrulev1.NominalSize) (quantity.NominalSize, error) {
	read := w.sizes.of(sizeSpelling{s.GetSystem(), s.GetDesignation()}, func() readSize {
		size, err := quantity.ParseNominalSize(designfile.SizeText(s))
		return readSize{size, err}
	})
	return read.size, read.err
}

// sizeSpelling is how a nominal size is written, readSize what it says.
type (
	sizeSpelling struct {
		system      skidrulev1.SizeSystem
		designation string
	}
	readSize struct {
		size quantity.NominalSize
		err  error
	}
)

// lineSize is the nominal size of a line, and whether it states one that can be read.
type lineSize struct {
	quantity.NominalSize
	stated bool
}

// lineSize reads the sizes of all lines once.
func (w *World) lineSize(line int32) lineSize {
	return (*w.lineSizes.get(func() *[]lineSize {
		list := make([]lineSize, len(w.Plant.Lines))
		for i := range list {
			size, err := w.nominalSize(w.Plant.Lines[i].Data.GetSize())
			list[i] = lineSize{size, err == nil}
		}
		return &list
	}))[line]
}

// lineVolume is what a line holds.
func (w *World) lineVolume(line int32) Number {
	bore := w.LineBore(line)
	length := w.number(w.Plant.Lines[line].Data.LengthM, lineRef(line, "length"))
	volume := bore.Mul(bore).Mul(length).Scale(math.Pi / 4)
	volume.Low = max(0, volume.Low)
	return volume
}
