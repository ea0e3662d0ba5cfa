// Package language puts what the program says in English into another language.
package language
