package schedule

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// ANSI/ISA-5.1-2009, Table 4.1, in a transcription.
func TestLettersAsTheStandardHasThem(t *testing.T) {
	for letters, want := range map[string]string{
		"PI": "pressure, indicate", "PDSH": "pressure, differential, switch, high", "FO": "flow, orifice", "TJ": "temperature, scan",
		"UU": "several variables, several functions", "AE": "analysis, sensor", "HK": "hand, control station", "LG": "level, gauge",
		"ZZ": "position, driver", "FQ": "flow, total", "TW": "temperature, well", "NB": "user's choice, user's choice",
	} {
		assert.Equal(t, want, spelt(letters), letters)
	}
}
