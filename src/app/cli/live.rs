//! `sixfold live`: a cube held up to the camera, read and explained on a page.

use super::photos::Cube;
use crate::app::camera;
use crate::app::page::{self, Pictures, Plan};
use crate::app::report::Screen;
use crate::app::{Stop, Verdict};
use clap::Args;
use std::path::PathBuf;

/// Read a cube held up to the camera, on a page in the browser
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a flag of the command line, and they are independent"
)]
#[derive(Debug, Args)]
#[command(after_help = "The page is served to this computer alone, and pictures never leave it.")]
pub struct Live {
    /// The camera to use, by number or part of its name
    #[arg(long, value_name = "CAMERA", group = "pictures")]
    camera: Option<String>,
    /// List the cameras and stop
    #[arg(long, conflicts_with_all = ["pictures", "port", "table", "no_open"])]
    cameras: bool,
    /// Let the browser open the camera instead
    #[arg(long, group = "pictures")]
    browser_camera: bool,
    /// Play a folder of JPEG or PNG frames as if a camera gave them
    #[arg(long, value_name = "FOLDER", group = "pictures")]
    recording: Option<PathBuf>,
    /// The frames a second of the recording
    #[arg(long, value_name = "FPS", default_value_t = 30.0, value_parser = rate, requires = "recording")]
    rate: f64,
    /// Begin the recording again at its end
    #[arg(long, requires = "recording")]
    again: bool,
    /// The port to serve on; any free one if left out
    #[arg(long, default_value_t = 0)]
    port: u16,
    /// Read one cube after another and list them
    #[arg(long)]
    table: bool,
    #[command(flatten)]
    cube: Cube,
    /// Print the address only, do not open the browser
    #[arg(long)]
    no_open: bool,
}

fn rate(text: &str) -> Result<f64, String> {
    match text.parse() {
        Ok(rate) if (0.1..=240.0).contains(&rate) => Ok(rate),
        _ => Err("frames a second are a number from 0.1 to 240".to_owned()),
    }
}

impl Live {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If there is no such camera or recording, or the port is taken.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        if self.cameras {
            let cameras = camera::list()?;
            if cameras.is_empty() {
                writeln!(
                    screen.out,
                    "No camera was found: plug one in, or let the browser open it with --browser-camera."
                )?;
            }
            for camera in cameras {
                writeln!(screen.out, "{}  {}", camera.number, camera.name)?;
            }
            return Ok(Verdict::Answered);
        }
        let pictures = match &self.recording {
            Some(folder) => Pictures::Recording {
                folder: folder.clone(),
                rate: self.rate,
                is_endless: self.again,
            },
            None if self.browser_camera => Pictures::Browser,
            None => Pictures::Camera(self.camera.clone()),
        };
        page::live(
            &Plan {
                pictures,
                port: self.port,
                is_table: self.table,
                opens_browser: !self.no_open,
                calibration: self.cube.calibration()?,
            },
            screen,
        )?;
        Ok(Verdict::Answered)
    }
}
