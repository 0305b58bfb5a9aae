// Package sampling says how sure a count or a mean of few samples is, and how many to take.
package sampling

import "math"

// normalQuantile is the value below which a share of the normal distribution lies, by bisection on the error function and
// two steps of Newton's method.
func normalQuantile(share float64) float64 {
	return solve(share, -40, 40, func(x float64) float64 { return math.Erfc(-x/math.Sqrt2) / 2 })
}

// tQuantile is that of Student's distribution with some degrees of freedom.
func tQuantile(share, freedom float64) float64 {
	if share == 0.5 {
		return 0
	}
	far := 100 * math.Pow(math.Min(share, 1-share), -1/freedom)
	return solve(share, -far, far, func(x float64) float64 { return tBelow(x, freedom) })
}

// solve finds x where a rising function takes a value, by halving.
func solve(want, lo, hi float64, f func(float64) float64) float64 {
	for range 200 {
		mid := (lo + hi) / 2
		if mid == lo || mid == hi {
			break
		}
		if f(mid) < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// tBelow is the share of Student's distribution below t.
func tBelow(t, freedom float64) float64 {
	tail := betaShare(freedom/(freedom+t*t), freedom/2, 0.5) / 2
	if t > 0 {
		return 1 - tail
	}
	return tail
}

// betaShare is the regularized incomplete beta function by its continued fraction (Lentz).
func betaShare(x, a, b float64) float64 {
	if x <= 0 {
		return 0
	}
	if x >= 1 {
		return 1
	}
	if x > (a+1)/(a+b+2) {
		return 1 - betaShare(1-x, b, a)
	}
	la, _ := math.Lgamma(a)
	lb, _ := math.Lgamma(b)
	lab, _ := math.Lgamma(a + b)
	front := math.Exp(lab-la-lb+a*math.Log(x)+b*math.Log1p(-x)) / a
	const tiny = 1e-300
	c, d, f := 1.0, 0.0, 1.0
	for i := range 500 {
		k := float64(i / 2)
		num := 1.0
		switch {
		case i > 0 && i%2 == 0:
			num = k * (b - k) * x / ((a + 2*k - 1) * (a + 2*k))
		case i > 0:
			num = -(a + k) * (a + b + k) * x / ((a + 2*k) * (a + 2*k + 1))
		}
		d = 1 / nonzero(1+num*d, tiny)
		c = nonzero(1+num/c, tiny)
		f *= c * d
		if i > 0 && math.Abs(1-c*d) < 1e-15 {
			break
		}
	}
	return front * (f - 1)
}

func nonzero(v, tiny float64) float64 {
	if math.Abs(v) < tiny {
		return tiny
	}
	return v
}
