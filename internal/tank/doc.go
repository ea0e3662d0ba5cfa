// Package tank turns heights into volumes and back, for a tank of any shape
// lying at any tilt.
//
// A tank's inside is a [Solid]: bodies of revolution (cylinders with their
// heads, cones, spheres, rings), extruded outlines, closed triangle meshes and
// what is made of them by stacking, joining and taking away. A solid is cut by
// level planes: [Solid.Cut] prepares it for one direction of "up", and the
// [Cut] then gives volume, free surface and moment below any plane of that
// direction. Formulas are exact where they exist; elsewhere integrals are taken
// adaptively to 1e-10 of the whole.
//
// # Frame
//
// The tank's own frame has x forward, y to port, z up, in metres. Its origin
// stands under the middle of the plan (the middle of the box around the
// inside), on the level of the lowest inside point. Pitch is positive nose up,
// roll positive starboard down.
//
// A reading is the height of the surface at the sensor, along the tank's own
// upright (or the sensor's own axis), from the level of the lowest inside point.
package tank
