package fluid

// The IAPWS releases give their check values at states outside the range of
// the exported functions; tests reach the equations themselves here.
var (
	Region1Volume       = region1Volume
	Region1HeatCapacity = region1HeatCapacity
	Region4Pressure     = region4Pressure
	Region4Temperature  = region4Temperature
	ViscosityIAPWS      = viscosityIAPWS
	SublimationPressure = sublimationPressure
	WholePower          = wholePower
)
