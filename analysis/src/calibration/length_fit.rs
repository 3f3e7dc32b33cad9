//! The fit behind a calibration: offset and matrix that give every rest the length of gravity.
//!
//! Tedaldi, Pretto & Menegatti (ICRA 2014) minimise `Σ (|M (f − b)| − g)²` over rests in many
//! directions, as do Frosio, Pedersini & Borghese (IEEE Trans. Instrum. Meas. 58, 2009) with a
//! symmetric `M`. It is taken here because it asks nothing of how exactly a face was laid: the six
//! positions of Ferraris, Grimaldi & Parvis (Sensors and Materials 7, 1995) give all nine numbers
//! only if each axis is vertical to the accuracy wanted, and a case laid down by hand is some
//! degrees off, which would be read as as many hundredths of cross-axis.
//!
//! Six lengths cannot determine nine numbers. Offset and scale of each axis follow from its two
//! rests; of the three cross-axis numbers only what rests askew show is learnt, and the rest stays
//! what it was before, with its uncertainty. That is why each has a prior here.

use nalgebra::{Cholesky, Matrix3, SMatrix, SVector, Vector3};

/// The nine numbers and their covariance.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LengthFit {
    state: SVector<f64, 9>,
    covariance: SMatrix<f64, 9, 9>,
}

impl LengthFit {
    /// Fits mean specific forces (m/s²) to the length of gravity (m/s²).
    pub(super) fn of(forces: &[Vector3<f64>], gravity_m_s2: f64) -> Self {
        let certainty = certainty();
        let mut fit = Self { state: SVector::zeros(), covariance: SMatrix::identity() };
        for _ in 0..GAUSS_NEWTON_STEPS {
            let mut information = certainty;
            let mut gradient = -(certainty * fit.state);
            for force in forces {
                let corrected = fit.matrix() * (force - fit.offset_m_s2());
                let residual = (corrected.norm() - gravity_m_s2) / LENGTH_SD_M_S2;
                let slope = fit.slope(force, &corrected) / LENGTH_SD_M_S2;
                information += slope * slope.transpose();
                gradient -= slope * residual;
            }
            // The prior keeps it positive definite.
            let Some(factor) = Cholesky::new(information) else { break };
            fit.state += factor.solve(&gradient);
            fit.covariance = factor.inverse();
        }
        fit
    }

    /// The offset, m/s².
    pub(super) fn offset_m_s2(&self) -> Vector3<f64> {
        self.state.fixed_rows::<3>(0).into_owned()
    }

    /// The symmetric matrix.
    pub(super) fn matrix(&self) -> Matrix3<f64> {
        Matrix3::identity() + symmetric(&self.state)
    }

    /// Covariance of the offset, (m/s²)².
    pub(super) fn offset_covariance(&self) -> Matrix3<f64> {
        self.covariance.fixed_view::<3, 3>(0, 0).into_owned()
    }

    /// Standard uncertainty of each element of the matrix.
    pub(super) fn matrix_sd(&self) -> Matrix3<f64> {
        symmetric(&self.covariance.diagonal().map(|variance| variance.max(0.0).sqrt()))
    }

    /// How the length of a corrected force changes with the nine numbers.
    fn slope(&self, force: &Vector3<f64>, corrected: &Vector3<f64>) -> SVector<f64, 9> {
        let along = corrected.try_normalize(0.0).unwrap_or_else(Vector3::zeros);
        let bare = force - self.offset_m_s2();
        let by_offset = -(self.matrix() * along);
        let mut slope = SVector::<f64, 9>::zeros();
        slope.fixed_rows_mut::<3>(0).copy_from(&by_offset);
        slope.fixed_rows_mut::<3>(3).copy_from(&along.component_mul(&bare));
        slope[6] = along.x * bare.y + along.y * bare.x;
        slope[7] = along.x * bare.z + along.z * bare.x;
        slope[8] = along.y * bare.z + along.z * bare.y;
        slope
    }
}

/// The last six numbers as a symmetric matrix.
fn symmetric(numbers: &SVector<f64, 9>) -> Matrix3<f64> {
    let [xx, yy, zz, xy, xz, yz] = [3, 4, 5, 6, 7, 8].map(|n| numbers[n]);
    Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz)
}

/// The inverse of the prior's covariance.
fn certainty() -> SMatrix<f64, 9, 9> {
    let sd = |number| match number {
        0..3 => OFFSET_SD_M_S2,
        3..6 => SCALE_SD,
        _ => CROSS_AXIS_SD,
    };
    SMatrix::from_diagonal(&SVector::from_fn(|number, _| f64::powi(sd(number), -2)))
}

const GAUSS_NEWTON_STEPS: usize = 10;
// What the length of a rest's mean force is known to: non-linearity and the table's own trembling,
// not the samples' noise, which averages out (from memory of data sheets: 1 mg).
const LENGTH_SD_M_S2: f64 = 0.01;
// Wide, for the rests determine both: 50 mg, 2 %.
const OFFSET_SD_M_S2: f64 = 0.5;
const SCALE_SD: f64 = 0.02;
// Half of the 1 % that data sheets of cheap parts allow at most (from memory).
const CROSS_AXIS_SD: f64 = 0.005;
