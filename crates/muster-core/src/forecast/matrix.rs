//! Small symmetric matrices: their axes by Jacobi's rotations, and the solution of a system they make.

use alloc::{vec, vec::Vec};

/// Eigenvalues, and eigenvectors as columns. Source: Jacobi (1846), Crelle 30, 51; cyclic sweeps.
pub(super) fn axes<const N: usize>(mut a: [[f64; N]; N]) -> ([f64; N], [[f64; N]; N]) {
    let mut v = [[0.0; N]; N];
    for (i, row) in v.iter_mut().enumerate() {
        row[i] = 1.0;
    }
    for _ in 0..60 {
        let mut off = 0.0;
        for p in 0..N {
            for q in p + 1..N {
                off += a[p][q] * a[p][q];
                rotate(&mut a, &mut v, p, q);
            }
        }
        if off < 1e-22 {
            break;
        }
    }
    let mut values = [0.0; N];
    for (i, value) in values.iter_mut().enumerate() {
        *value = a[i][i];
    }
    (values, v)
}

fn rotate<const N: usize>(a: &mut [[f64; N]; N], v: &mut [[f64; N]; N], p: usize, q: usize) {
    if libm::fabs(a[p][q]) < 1e-300 {
        return;
    }
    let theta = (a[q][q] - a[p][p]) / (2.0 * a[p][q]);
    let t = libm::copysign(1.0, theta) / (libm::fabs(theta) + libm::sqrt(theta * theta + 1.0));
    let c = 1.0 / libm::sqrt(t * t + 1.0);
    let s = t * c;
    for row in a.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
    let (one, other) = (a[p], a[q]);
    a[p] = core::array::from_fn(|k| c * one[k] - s * other[k]);
    a[q] = core::array::from_fn(|k| s * one[k] + c * other[k]);
    for row in v.iter_mut() {
        (row[p], row[q]) = (c * row[p] - s * row[q], s * row[p] + c * row[q]);
    }
}

/// The inverse of a symmetric positive definite matrix, by Cholesky's factors; none if it is not one.
pub(super) fn inverse(a: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = a.len();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
            let rest = a[i][j] - sum;
            if i == j {
                if rest.partial_cmp(&0.0) != Some(core::cmp::Ordering::Greater) {
                    return None;
                }
                l[i][i] = libm::sqrt(rest);
            } else {
                l[i][j] = rest / l[j][j];
            }
        }
    }
    let mut out = Vec::with_capacity(n);
    for unit in 0..n {
        let mut y = vec![0.0; n];
        for i in 0..n {
            let sum: f64 = (0..i).map(|k| l[i][k] * y[k]).sum();
            y[i] = (f64::from(u8::from(i == unit)) - sum) / l[i][i];
        }
        for i in (0..n).rev() {
            let sum: f64 = (i + 1..n).map(|k| l[k][i] * y[k]).sum();
            y[i] = (y[i] - sum) / l[i][i];
        }
        // Symmetric: a column is a row.
        out.push(y);
    }
    Some(out)
}
