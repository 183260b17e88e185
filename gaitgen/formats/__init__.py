"""Turns a clip into the bytes of a file, reads joint trees and motion back, and puts files in place."""
