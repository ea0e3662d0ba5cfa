// Package drift tells whether a sender has changed since its record was made:
// where, by how much, what would cause it, what to do, and when to look again.
//
// A later bench is held against the recorded curve mark by mark. What is left,
// the change, is judged with its whole covariance: what the record and the
// later bench have in doubt, and which part of that all marks share, such as
// the meters and the test leads. Two tests look at it together, one of the
// change as a whole and one along each cause that is physically possible, and
// their common rate of false alarms is what the caller asks for.
//
// Causes are models of one parameter, fitted by generalised least squares and
// weighed against one another by the Bayesian information criterion. That is a
// judgement of fit: two causes that do the same to the readings can't be told
// apart, and the result then names the mark at which one more reading would.
//
// Times are arguments, and random numbers have a fixed seed: the same readings
// give the same answer on any machine. Readings that can't be used give an
// error; nothing here panics or returns NaN.
package drift
