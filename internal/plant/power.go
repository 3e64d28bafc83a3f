package plant

import "slices"

// powerKinds are the kinds that a power feed drives.
var powerKinds = []Kind{
	KindCompressor, KindBlower, KindGasDryer, KindOxygenConcentrator, KindGasHeater, KindOzoneGenerator, KindPowerSupply, KindController,
	KindActuatedValve, KindThreeWayValve, KindPump, KindOzoneDestruct,
}

// TakesPower tells whether a power feed drives the component: one of its kind has a drive, or it states a feed.
func (c *Component) TakesPower() bool {
	return slices.Contains(powerKinds, c.Kind) || c.Data.GetPowerFeed() != ""
}
