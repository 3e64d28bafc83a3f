package drawing

import (
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// face is the type that PNG is written in; its widths also serve for SVG, where each text is held to the width reckoned here.
var face = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic("drawing: the embedded font does not parse: " + err.Error())
	}
	return f
})

const unitsPerEm = 2048

var asciiWidths = sync.OnceValue(func() (w [128]float64) {
	var buf sfnt.Buffer
	for r := rune(32); r < 127; r++ {
		w[r] = runeWidth(&buf, r)
	}
	return w
})

func runeWidth(buf *sfnt.Buffer, r rune) float64 {
	f := face()
	g, err := f.GlyphIndex(buf, r)
	if err != nil {
		return 0.6
	}
	adv, err := f.GlyphAdvance(buf, g, fixed.I(unitsPerEm), font.HintingNone)
	if err != nil {
		return 0.6
	}
	return float64(adv) / 64 / unitsPerEm
}

// textWidth is the width of text in millimetres at a font size in millimetres.
func textWidth(s string, size float64) float64 {
	w := 0.0
	ascii := asciiWidths()
	for _, r := range s {
		if r < 128 {
			w += ascii[r]
			continue
		}
		var buf sfnt.Buffer
		w += runeWidth(&buf, r)
	}
	return w * size
}
