package fact

// offGasMemo is what the off-gas facts compute once.
type offGasMemo struct{}

var offGasFacts = []Definition{}
