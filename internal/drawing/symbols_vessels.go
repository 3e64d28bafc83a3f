package drawing

import (
	"strings"

	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

func sides(it *Item) (l, t, r, b float64) {
	return -float64(it.Extent.Left), -float64(it.Extent.Up), float64(it.Extent.Right), float64(it.Extent.Down)
}

func drawReceiver(p *pen, it *Item) {
	p.shell(sides(it))
}

func drawReactionVessel(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.thin(l+1, t+2.5, r-1, t+2.5)
	p.thin(l+1, b-2.5, r-1, b-2.5)
	// Bubbles on the way up.
	p.hole(-0.8, 1.6, 0.3)
	p.hole(0.6, 0.4, 0.4)
	p.hole(-0.3, -1, 0.5)
}

func drawContactVessel(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.water(l, t+3, r, b)
	p.hole(-1.2, 2, 0.3)
	p.hole(1, 0.8, 0.4)
	p.hole(-0.4, -0.6, 0.5)
}

func drawDegasser(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.water(l, t+2.5, r, b)
	p.line(0, 1.6, 0, 0.2)
	p.line(-0.6, 0.8, 0, 0, 0.6, 0.8)
}

func drawOpenTank(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.blank(l, t, r, b)
	p.tint(l, t+2, r, t+2, r, b, l, b)
	p.line(l, t, l, b, r, b, r, t)
	p.thin(l, t+2, r, t+2)
	p.thin(-0.6, t+2.4, 0.6, t+2.4)
	p.thin(-0.3, t+2.8, 0.3, t+2.8)
}

func drawTrap(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.water(l, b-1.8, r, b)
	p.hole(0, b-1.9, 0.7)
	// The baffle makes the gas turn.
	p.line(0, t, 0, 0.4)
}

func drawPot(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.water(l, b-2.2, r, b)
	if it.component.GetKnockOutPot().GetDemister() {
		mesh(p, l, t+1.3, r, t+2.2)
	}
	p.line(l, 0, l+1.6, 0, l+1.6, 0.9)
}

func mesh(p *pen, l, t, r, b float64) {
	p.thin(l, t, r, t)
	p.thin(l, b, r, b)
	for x := l; x < r-0.01; x += 1 {
		p.thin(x, b, x+1, t)
		p.thin(x, t, x+1, b)
	}
}

func drawDemister(p *pen, _ *Item) {
	p.box(-2, -2, 2, 2)
	for y := -2.0; y < 2; y++ {
		p.thin(-0.5, y, 0.5, y+1)
		p.thin(-0.5, y+1, 0.5, y)
	}
	p.thin(-0.5, -2, -0.5, 2)
	p.thin(0.5, -2, 0.5, 2)
}

// drawDestruct shows a packed bed; a heated one has its heater below the bed.
func drawDestruct(p *pen, it *Item) {
	l, t, r, b := sides(it)
	p.shell(l, t, r, b)
	p.line(l, -2, r, -2)
	p.line(l, 2, r, 2)
	p.thin(l, -2, r, 2)
	p.thin(l, 2, r, -2)
	d := it.component.GetOzoneDestruct()
	if d.GetHeated() || d.GetPrinciple() == skidrulev1.DestructPrinciple_DESTRUCT_PRINCIPLE_THERMAL {
		y := b - 1.2
		p.line(-1.8, y, -1.2, y, -0.9, y-0.5, -0.3, y+0.5, 0.3, y-0.5, 0.9, y+0.5, 1.2, y, 1.8, y)
	}
}

func drawWaterSeal(p *pen, _ *Item) {
	p.box(-3, -3, 3, 3)
	p.tint(-3, 0.6, 3, 0.6, 3, 3, -3, 3)
	p.thin(-3, 0.6, 3, 0.6)
	p.line(-3, 0, -1.4, 0, -1.4, 2.2)
	p.hole(-0.6, 2.1, 0.3)
	p.hole(0.2, 1.5, 0.35)
}

// loopTag splits a tag as `PI-101A` into the letters and the number that stand in a bubble, if both are short enough.
func loopTag(tag string) (letters, number string, ok bool) {
	i := strings.IndexFunc(tag, func(r rune) bool { return r < 'A' || r > 'Z' })
	if i < 1 || i > 4 {
		return "", "", false
	}
	number = strings.TrimLeft(tag[i:], "-_")
	if number == "" || len(number) > 5 {
		return "", "", false
	}
	return tag[:i], number, true
}

// bubbleText gives the two rows in a bubble and whether they say the whole tag.
func bubbleText(it *Item) (letters, number string, whole bool) {
	if l, n, ok := loopTag(it.Tag); ok {
		return l, n, true
	}
	return it.form.letters, "", false
}

func drawBubble(p *pen, it *Item) {
	p.bubble(0, 0, 2)
	bubbleWords(p, it)
}

func bubbleWords(p *pen, it *Item) {
	letters, number, _ := bubbleText(it)
	if number == "" {
		p.word(0, 0, 2.8, letters)
		return
	}
	at := p.place(0, 0)
	for i, w := range []string{letters, number} {
		p.marks = append(p.marks, mark{op: opText, pts: []vec{{at.x, at.y - 0.5 + 3*float64(i)}}, text: w, size: 2.8, style: "sym-text"})
	}
}

// drawRoomMonitor stands in the room, not on a pipe: a bubble in a square frame.
func drawRoomMonitor(p *pen, it *Item) {
	p.thin(-2, -2, 2, -2, 2, 2, -2, 2, -2, -2)
	p.bubble(0, 0, 2)
	bubbleWords(p, it)
}

func drawEmergencyStop(p *pen, _ *Item) {
	p.box(-2, -2, 2, 2)
	p.circle(0, 0, 1.6)
	p.word(0, 0, 2.2, "STOP")
}
