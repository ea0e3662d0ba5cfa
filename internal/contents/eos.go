package contents

import "math"

// eosGas is the molar gas constant that the equations of state below were
// fitted with, in J/(mol K).
const eosGas = 8.314472

// eosTerm is one term n δ^d τ^t exp(-δ^l) of a residual Helmholtz energy; with
// l = 0 there is no exponential.
type eosTerm struct {
	n, t float64
	d, l int
}

// eosBell is one Gaussian term n δ^d τ^t exp(-η(δ-ε)² - β(τ-γ)²).
type eosBell struct {
	n, t                      float64
	d                         int
	eta, beta, gamma, epsilon float64
}

// eosFluid is a pure substance by its equation of state: the residual part of
// the Helmholtz energy divided by RT, a function of δ = ρ/ρc and τ = Tc/T. The
// ideal part depends on density only through ln δ, so that it drops out of
// everything wanted here: pressures, densities, and differences of Gibbs energy
// and enthalpy between two phases of one temperature.
type eosFluid struct {
	name     string
	critical float64 // reducing temperature, K
	density  float64 // reducing density, mol/m³
	molar    float64 // kg/mol
	terms    []eosTerm
	bells    []eosBell
	// Where the search for the saturation densities begins.
	liquid, vapour [4]float64
	// top is the highest temperature that is reckoned with, K.
	top float64
}

// eosIsotherm is a fluid at one temperature: what of the terms doesn't change
// with density is worked out once.
type eosIsotherm struct {
	fluid              *eosFluid
	kelvin, tau        float64
	weights, bellParts []float64 // n τ^t, and n τ^t exp(-β(τ-γ)²)
}

func (f *eosFluid) at(kelvin float64) *eosIsotherm {
	tau := f.critical / kelvin
	a := &eosIsotherm{
		fluid: f, kelvin: kelvin, tau: tau,
		weights:   make([]float64, len(f.terms)),
		bellParts: make([]float64, len(f.bells)),
	}
	logTau := math.Log(tau)
	for i, t := range f.terms {
		a.weights[i] = t.n * math.Exp(t.t*logTau)
	}
	for i, b := range f.bells {
		off := tau - b.gamma
		a.bellParts[i] = b.n * math.Exp(b.t*logTau-b.beta*off*off)
	}
	return a
}

// eosResidual is the residual energy α and what is needed of its derivatives.
type eosResidual struct {
	a   float64 // α
	d   float64 // δ ∂α/∂δ
	dd  float64 // δ² ∂²α/∂δ²
	tau float64 // τ ∂α/∂τ
}

// residual works out the residual energy at a reduced density above 0.
func (a *eosIsotherm) residual(delta float64) eosResidual {
	var powers [11]float64 // the highest exponent is 10
	powers[0] = 1
	for i := 1; i < len(powers); i++ {
		powers[i] = powers[i-1] * delta
	}
	var damping [4]float64 // exp(-δ^l)
	damping[0] = 1
	for l := 1; l < len(damping); l++ {
		damping[l] = math.Exp(-powers[l])
	}
	var r eosResidual
	for i, t := range a.fluid.terms {
		v := a.weights[i] * powers[t.d] * damping[t.l]
		// δ ∂/∂δ of δ^d exp(-δ^l) multiplies it by d - l δ^l.
		l := float64(t.l)
		s := float64(t.d) - l*powers[t.l]
		r.a += v
		r.d += v * s
		r.dd += v * (s*(s-1) - l*l*powers[t.l])
		r.tau += v * t.t
	}
	for i, b := range a.fluid.bells {
		off := delta - b.epsilon
		v := a.bellParts[i] * powers[b.d] * math.Exp(-b.eta*off*off)
		s := float64(b.d) - 2*b.eta*delta*off
		r.a += v
		r.d += v * s
		r.dd += v * (s*(s-1) - 2*b.eta*delta*(off+delta))
		r.tau += v * (b.t - 2*b.beta*a.tau*(a.tau-b.gamma))
	}
	return r
}

// pressure gives the pressure in Pa at a reduced density, and its derivative
// with respect to the reduced density.
func (a *eosIsotherm) pressure(delta float64) (p, slope float64) {
	r := a.residual(delta)
	scale := a.fluid.density * eosGas * a.kelvin
	return scale * delta * (1 + r.d), scale * (1 + 2*r.d + r.dd)
}
