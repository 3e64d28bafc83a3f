package commission

import (
	"fmt"
	"math"
	"strconv"

	"github.com/skidrule/skidrule/internal/quantity"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// What is assumed of instruments of which nothing is stated: common practice, no source. Every answer that rests on one says so.
const (
	assumedClass     = 1.6  // accuracy class of a gauge, per cent of its span
	assumedMeter     = 0.05 // of a flow meter, over the high end of its range
	assumedTap       = 2e3  // Pa, of a test gauge that is put on
	assumedClampOn   = 0.03 // of a flow meter that is put on, over its value
	smallestAccuracy = 1e-6 // over the value: nothing is read better
)

// limits gives the limits of error of a reading to either side, in SI, with where they come from. An error says what is wrong.
//
// Source: EN 837-1:1996 for the accuracy class, a limit of error in per cent of the span: table 11, verified in a
// transcription.
func (q *place) limits(r *skidrulev1.SiteReading, value float64) (limit float64, source string, err error) {
	span := math.NaN()
	if q.rangeLow != nil && q.rangeHigh != nil {
		span = *q.rangeHigh - *q.rangeLow
	}
	ofSpan := func(percent float64, word string) (float64, string, error) {
		if !(span > 0) {
			missing := "it is no instrument of the design"
			if len(q.rangeMissing) > 0 {
				missing = q.rangeMissing[0] + " is not stated"
			}
			return 0, "", fmt.Errorf("an accuracy class needs a span, and %s; state the uncertainty itself", missing)
		}
		return percent / 100 * span, fmt.Sprintf("%s %s: limits of error %s %% of the span of %s", word, number(percent), number(percent), q.say(span, true)), nil
	}
	switch a := r.GetAccuracy().(type) {
	case *skidrulev1.SiteReading_Uncertainty:
		limit, source = a.Uncertainty, "stated"
	case *skidrulev1.SiteReading_UncertaintyRatio:
		limit, source = a.UncertaintyRatio*math.Abs(value), "stated, "+number(100*a.UncertaintyRatio)+" % of the reading"
	case *skidrulev1.SiteReading_AccuracyClassPercent:
		if limit, source, err = ofSpan(a.AccuracyClassPercent, "stated class"); err != nil {
			return 0, "", err
		}
	default:
		if limit, source, err = q.assumed(value); err != nil {
			return 0, "", err
		}
	}
	if math.IsNaN(limit) || math.IsInf(limit, 0) || limit <= smallestAccuracy*math.Abs(value) || limit <= 0 {
		return 0, "", fmt.Errorf("an uncertainty of %s is none that an instrument has; it must be above zero", q.say(limit, true))
	}
	return limit, source, nil
}

// assumed gives the limits of error where none are stated.
func (q *place) assumed(value float64) (limit float64, source string, err error) {
	const practice = " (assumed: common practice, no source)"
	switch {
	case !q.instrument && q.dimension == quantity.PressureGauge:
		return assumedTap, "a test gauge within " + q.say(assumedTap, true) + practice, nil
	case !q.instrument:
		return assumedClampOn * math.Abs(value), "a meter put on, within " + number(100*assumedClampOn) + " % of its value" + practice, nil
	case q.rangeLow == nil || q.rangeHigh == nil || !(*q.rangeHigh > *q.rangeLow):
		missing := "its range is empty"
		if len(q.rangeMissing) > 0 {
			missing = q.rangeMissing[0] + " is not stated"
		}
		return 0, "", fmt.Errorf("nothing can be assumed of its uncertainty, since %s; state the uncertainty with the reading", missing)
	case q.dimension == quantity.PressureGauge:
		return assumedClass / 100 * (*q.rangeHigh - *q.rangeLow), "class " + number(assumedClass) + ", limits of error " + number(assumedClass) + " % of its span" + practice, nil
	}
	return assumedMeter * *q.rangeHigh, "limits of error " + number(100*assumedMeter) + " % of the high end of its range" + practice, nil
}

// standard is the standard uncertainty that belongs to limits of error: the true value lies anywhere between them.
//
// Source: JCGM 100:2008, 4.3.7, rectangular distribution.
func standard(limit float64) float64 { return limit / math.Sqrt(3) }

// say prints a value of a place in metric units; of a difference where it is one.
func (q *place) say(x float64, difference bool) string {
	d := q.dimension
	if difference && d == quantity.PressureGauge {
		d = quantity.PressureDifference
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return number(x)
	}
	return quantity.Format(x, d, quantity.Metric)
}

func number(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }
