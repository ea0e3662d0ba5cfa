// Package post takes readings by HTTP POST.
package post
