package fluid

// wholePower returns x to a whole power by squaring, within the power times 2e-16 of it. The equations of water have scores of
// such terms, for which [math.Pow] takes many times as long.
func wholePower(x float64, n int) float64 {
	if n < 0 {
		return 1 / wholePower(x, -n)
	}
	y := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 != 0 {
			y *= x
		}
		x *= x
	}
	return y
}
