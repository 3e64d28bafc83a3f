package fact

import (
	"github.com/skidrule/skidrule/internal/fluid"
	"github.com/skidrule/skidrule/internal/unitop"
)

// media is what flows in the plant and lies around it: what the basis says of it holds for every train, and the properties of water
// at a temperature are worked out once for all.
type media struct {
	coldWater, warmWater stream // the adverse end, and the kind one
	heavyGas, lightGas   stream
	ambientOpen          []Ref // see World.ambientOpen
	atmosphere           Number
}

func (w *World) media() *media { return w.sizing.media.get(w.findMedia) }

func (w *World) findMedia() *media {
	return &media{
		coldWater: w.findWaterStream(true), warmWater: w.findWaterStream(false),
		heavyGas: w.findGasStream(true), lightGas: w.findGasStream(false),
		ambientOpen: w.findAmbientOpen(), atmosphere: w.atmosphere(),
	}
}

// waterStream gives the ends between which the water of the plant lies: cold and viscous, warm and thin.
func (w *World) waterStream(adverse bool) stream {
	if adverse {
		return w.media().coldWater
	}
	return w.media().warmWater
}

// gasStream gives the ends between which the gas of the plant lies: hot and heavy, cold and light.
func (w *World) gasStream(adverse bool) stream {
	if adverse {
		return w.media().heavyGas
	}
	return w.media().lightGas
}

// ambientOpen names the temperatures of the surroundings, which gas before an injector has, where the basis does not state them.
func (w *World) ambientOpen() []Ref { return w.media().ambientOpen }

// serviceGas gives the ends of the gas that an injector draws: adverse is hot and heavy, of which it draws the least.
func (w *World) serviceGas(adverse bool) unitop.SuctionGas {
	f := w.gasStream(adverse)
	return unitop.SuctionGas{MolarMass: f.molarMass, Temperature: f.heat / fluid.GasConstant}
}
