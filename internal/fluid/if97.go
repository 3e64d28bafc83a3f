package fluid

import "math"

// Coefficients of the dimensionless Gibbs free energy of liquid water.
// Source: IAPWS R7-97(2012), region 1, Table 2; verified against Table 5.
var region1 = [34]struct {
	i, j int
	n    float64
}{
	{0, -2, 0.14632971213167}, {0, -1, -0.84548187169114}, {0, 0, -3.7563603672040},
	{0, 1, 3.3855169168385}, {0, 2, -0.95791963387872}, {0, 3, 0.15772038513228},
	{0, 4, -0.016616417199501}, {0, 5, 0.81214629983568e-3}, {1, -9, 0.28319080123804e-3},
	{1, -7, -0.60706301565874e-3}, {1, -1, -0.018990068218419}, {1, 0, -0.032529748770505},
	{1, 1, -0.021841717175414}, {1, 3, -0.52838357969930e-4}, {2, -3, -0.47184321073267e-3},
	{2, 0, -0.30001780793026e-3}, {2, 1, 0.47661393906987e-4}, {2, 3, -0.44141845330846e-5},
	{2, 17, -0.72694996297594e-15}, {3, -4, -0.31679644845054e-4}, {3, 0, -0.28270797985312e-5},
	{3, 6, -0.85205128120103e-9}, {4, -5, -0.22425281908000e-5}, {4, -2, -0.65171222895601e-6},
	{4, 10, -0.14341729937924e-12}, {5, -8, -0.40516996860117e-6}, {8, -11, -0.12734301741641e-8},
	{8, -6, -0.17424871230634e-9}, {21, -29, -0.68762131295531e-18}, {23, -31, 0.14478307828521e-19},
	{29, -38, 0.26335781662795e-22}, {30, -39, -0.11947622640071e-22}, {31, -40, 0.18228094581404e-23},
	{32, -41, -0.93537087292458e-25},
}

// if97R is the specific gas constant of water in J/(kg K) that belongs to the
// region 1 equation. Source: IAPWS R7-97(2012) equation 1.
const if97R = 461.526

// region1Volume returns the specific volume in m3/kg.
// Source: IAPWS R7-97(2012) Table 3: v = pi gamma_pi R T / p.
func region1Volume(t, p float64) float64 {
	pi, tau := p/16.53e6, 1386/t
	sum := 0.0
	// Terms of one power of the pressure follow one another, so that each power is taken once.
	at, power := 0, 0.0
	for k := range region1 {
		c := &region1[k]
		if c.i == 0 {
			continue
		}
		if c.i != at {
			at, power = c.i, wholePower(7.1-pi, c.i-1)
		}
		sum -= c.n * float64(c.i) * power * wholePower(tau-1.222, c.j)
	}
	return pi * sum * if97R * t / p
}

// region1HeatCapacity returns the isobaric heat capacity in J/(kg K).
// Source: IAPWS R7-97(2012) Table 3: cp = -tau^2 gamma_tautau R.
func region1HeatCapacity(t, p float64) float64 {
	pi, tau := p/16.53e6, 1386/t
	sum := 0.0
	for _, c := range region1 {
		sum += c.n * wholePower(7.1-pi, c.i) * float64(c.j*(c.j-1)) * wholePower(tau-1.222, c.j-2)
	}
	return -tau * tau * sum * if97R
}

// region4 holds the coefficients of the saturation line.
// Source: IAPWS R7-97(2012), region 4, Table 34; verified against Tables 35
// and 36.
var region4 = [10]float64{
	0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5,
	-0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6,
	-0.23855557567849, 0.65017534844798e3,
}

// region4Pressure returns the saturation pressure in Pa at t in K, which must
// lie in 273.15 to 647.096 K. Source: IAPWS R7-97(2012) equation 30.
func region4Pressure(t float64) float64 {
	n := region4
	theta := t + n[8]/(t-n[9])
	a := theta*theta + n[0]*theta + n[1]
	b := n[2]*theta*theta + n[3]*theta + n[4]
	c := n[5]*theta*theta + n[6]*theta + n[7]
	return wholePower(2*c/(-b+math.Sqrt(b*b-4*a*c)), 4) * 1e6
}

// region4Temperature returns the saturation temperature in K at p in Pa, which
// must lie in 611.213 Pa to 22.064 MPa.
// Source: IAPWS R7-97(2012) equation 31.
func region4Temperature(p float64) float64 {
	n := region4
	beta := math.Sqrt(math.Sqrt(p / 1e6))
	e := beta*beta + n[2]*beta + n[5]
	f := n[0]*beta*beta + n[3]*beta + n[6]
	g := n[1]*beta*beta + n[4]*beta + n[7]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	return (n[9] + d - math.Sqrt((n[9]+d)*(n[9]+d)-4*(n[8]+n[9]*d))) / 2
}
