package fluid

// Constants of nature and reference states.
const (
	// GasConstant is the molar gas constant in J/(mol K).
	// Source: CODATA 2018, exact since the 2019 revision of the SI.
	GasConstant = 8.314462618

	// NormalTemperature is 0 degC in K, the temperature of a normal cubic metre.
	// Source: convention of the International Ozone Association, 0 degC and
	// 101.325 kPa.
	NormalTemperature = 273.15

	// NormalPressure is one standard atmosphere in Pa, exact by definition.
	NormalPressure = 101325.0

	// NormalMolarVolume is the ideal-gas volume of one mole at 0 degC and
	// 101.325 kPa in m3/mol.
	NormalMolarVolume = GasConstant * NormalTemperature / NormalPressure

	// IceTriplePoint is the triple point of water in K.
	// Source: IAPWS R14-08(2011).
	IceTriplePoint = 273.16

	// iceTriplePressure is the pressure at the triple point in Pa.
	// Source: IAPWS R14-08(2011).
	iceTriplePressure = 611.657
)

// Molar masses in kg/mol.
// Source: IUPAC standard atomic weights (O 15.9994, N 14.0067, H 1.00794,
// Ar 39.948), as in the NIST Chemistry WebBook.
const (
	MolarMassO2  = 31.9988e-3
	MolarMassN2  = 28.0134e-3
	molarMassAr  = 39.948e-3
	MolarMassO3  = 47.9982e-3
	MolarMassH2O = 18.01528e-3

	// MolarMassAir is that of dry air with carbon dioxide counted in.
	// Source: US Standard Atmosphere 1976, 28.9644 g/mol, verified in a
	// transcription.
	MolarMassAir = 28.9644e-3
)
