// Package mail sends notices by e-mail (SMTP).
package mail
