//! A closed surface of triangles, its own check, and its bytes.

use std::collections::BTreeMap;

/// A surface of triangles, counter-clockwise seen from outside. mm.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Solid {
    /// corners
    pub points: Vec<[f64; 3]>,
    /// corners of every triangle
    pub triangles: Vec<[usize; 3]>,
}

/// Reasons why a surface bounds no solid.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SolidError {
    /// An edge that is not shared by two triangles running along it in opposite directions.
    #[error(
        "the edge from ({x:.3}, {y:.3}, {z:.3}) mm is used {forth} times forth and {back} times back, expected once each; \
         the surface is open or folded there"
    )]
    Edge {
        /// start of the edge (mm)
        x: f64,
        /// start of the edge (mm)
        y: f64,
        /// start of the edge (mm)
        z: f64,
        /// triangles that run along it
        forth: usize,
        /// triangles that run against it
        back: usize,
    },
    /// A triangle without area, or a corner that is no number.
    #[error("triangle {triangle} of the surface has no area; the geometry is too fine or folded there")]
    Flat {
        /// its index
        triangle: usize,
    },
    /// Inside out, or empty.
    #[error("the surface encloses {volume} mm³, expected more than zero; it is inside out or empty")]
    Volume {
        /// enclosed volume (mm³)
        volume: f64,
    },
}

fn minus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

impl Solid {
    /// The solid between an upper surface and the points below its own, joined by walls along its borders.
    ///
    /// `top` are triangles counter-clockwise seen from above over `upper`; `lower` has a point for each of `upper`.
    pub fn between(upper: &[[f64; 3]], lower: &[[f64; 3]], top: &[[usize; 3]]) -> Self {
        let count = upper.len();
        let mut triangles = Vec::with_capacity(2 * top.len());
        let mut edges: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for &[a, b, c] in top {
            triangles.push([a, b, c]);
            triangles.push([count + a, count + c, count + b]);
            for edge in [(a, b), (b, c), (c, a)] {
                *edges.entry(edge).or_default() += 1;
            }
        }
        for &(a, b) in edges.keys() {
            if !edges.contains_key(&(b, a)) {
                triangles.push([a, count + a, count + b]);
                triangles.push([a, count + b, b]);
            }
        }
        Self { points: upper.iter().chain(lower).copied().collect(), triangles }
    }

    fn corners(&self, triangle: [usize; 3]) -> [[f64; 3]; 3] {
        triangle.map(|corner| self.points[corner])
    }

    /// Volume enclosed by the surface (mm³): the sum of the tetrahedra to the origin.
    pub fn volume(&self) -> f64 {
        self.triangles
            .iter()
            .map(|triangle| {
                let [a, b, c] = self.corners(*triangle);
                dot(a, cross(b, c)) / 6.0
            })
            .sum()
    }

    /// Whether it bounds a solid: every edge shared by exactly two triangles in opposite directions, no triangle without
    /// area, volume above zero.
    pub fn check(&self) -> Result<(), SolidError> {
        let mut edges: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        for (index, triangle) in self.triangles.iter().enumerate() {
            let [a, b, c] = self.corners(*triangle);
            let normal = cross(minus(b, a), minus(c, a));
            let area = dot(normal, normal).sqrt();
            if !area.is_finite() || area <= 0.0 {
                return Err(SolidError::Flat { triangle: index });
            }
            for k in 0..3 {
                *edges.entry((triangle[k], triangle[(k + 1) % 3])).or_default() += 1;
            }
        }
        for (&(from, to), &forth) in &edges {
            let back = edges.get(&(to, from)).copied().unwrap_or(0);
            if forth != 1 || back != 1 {
                let [x, y, z] = self.points[from];
                return Err(SolidError::Edge { x, y, z, forth, back });
            }
        }
        let volume = self.volume();
        if volume > 0.0 { Ok(()) } else { Err(SolidError::Volume { volume }) }
    }

    /// The surface as binary STL, the unit being mm: 80 bytes of header, the number of triangles, then for each of them
    /// normal and corners as little-endian 32-bit floats and two bytes of nothing.
    pub fn to_stl(&self) -> Vec<u8> {
        let mut bytes = Vec::with_capacity(84 + 50 * self.triangles.len());
        // a header that begins with "solid" is taken for the text format by some readers
        let mut header = [b' '; 80];
        for (place, byte) in header.iter_mut().zip(b"binary STL, millimetres") {
            *place = *byte;
        }
        bytes.extend(header);
        let count = u32::try_from(self.triangles.len()).unwrap_or(u32::MAX);
        bytes.extend(count.to_le_bytes());
        for triangle in self.triangles.iter().take(count as usize) {
            let [a, b, c] = self.corners(*triangle);
            let normal = cross(minus(b, a), minus(c, a));
            let length = dot(normal, normal).sqrt();
            let unit = normal.map(|v| if length > 0.0 { v / length } else { 0.0 });
            for vector in [unit, a, b, c] {
                for value in vector {
                    #[allow(clippy::cast_possible_truncation)] // the format holds 32-bit floats
                    let short = value as f32;
                    bytes.extend(short.to_le_bytes());
                }
            }
            bytes.extend([0; 2]);
        }
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn plate() -> Solid {
        let corners = [[0.0, 0.0], [2.0, 0.0], [2.0, 3.0], [0.0, 3.0]];
        let at = |z: f64| corners.map(|[x, y]| [x, y, z]);
        Solid::between(&at(0.5), &at(-0.5), &[[0, 1, 2], [0, 2, 3]])
    }

    #[test]
    fn a_plate_is_closed_and_has_its_volume() {
        assert_eq!(plate().check(), Ok(()));
        assert_relative_eq!(plate().volume(), 6.0, max_relative = 1e-14);
        assert_eq!(plate().triangles.len(), 12);
    }

    #[test]
    fn holes_folds_and_inside_out_are_told_apart() {
        let mut open = plate();
        open.triangles.pop();
        assert!(matches!(open.check(), Err(SolidError::Edge { .. })));
        let mut turned = plate();
        turned.triangles[0].swap(0, 1);
        assert!(matches!(
            turned.check(),
            Err(SolidError::Edge { forth: 2, .. } | SolidError::Edge { back: 0, .. })
        ));
        let mut inside_out = plate();
        for triangle in &mut inside_out.triangles {
            triangle.swap(0, 1);
        }
        assert!(matches!(inside_out.check(), Err(SolidError::Volume { .. })));
    }

    #[test]
    fn the_bytes_have_the_length_and_count_of_the_format() {
        let bytes = plate().to_stl();
        assert_eq!(bytes.len(), 84 + 12 * 50);
        assert_eq!(bytes[80..84], [12, 0, 0, 0]);
        assert_ne!(&bytes[..5], b"solid");
    }
}
