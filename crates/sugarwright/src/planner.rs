//! From order folders to a plan document and the files of a plan folder.

use std::{
    ops::ControlFlow,
    path::{Path, PathBuf},
};

use craft::{
    days::Days,
    document::{
        plan::{PlanDocument, Written, write_plan, write_week},
        read_choices, read_kitchen, read_order, start_kitchen,
    },
    heads_up::HeadsUp,
    kitchen::Kitchen,
    order::{Brief, DesignFiles, check_today, read_brief},
    plan::{Basis, News, OrderPlan, plan_order, plan_week},
};
use store::{File, OrderFolder, read_order_folder};

use crate::{Failure, fonts};

/// The order at hand and the other open orders, read and ready to be planned.
#[derive(Debug)]
pub struct Inputs {
    /// The kitchen of the order at hand.
    pub kitchen: Kitchen,
    /// The order at hand first, then the others.
    briefs: Vec<Brief>,
    /// SHA-256 of everything that was read, in hexadecimal.
    sha256: String,
}

/// A finished plan.
#[derive(Debug)]
pub struct Planned {
    /// The kitchen.
    pub kitchen: Kitchen,
    /// The order and its pictures.
    pub brief: Brief,
    /// Its chapters.
    pub plan: OrderPlan,
    /// The days of all open orders.
    pub days: Days,
    /// Heads-ups of the days.
    pub days_heads_ups: Vec<HeadsUp>,
    /// Titles of the other open orders, whose work shares the days.
    pub beside: Vec<String>,
    /// What it was planned from.
    pub basis: Basis,
    /// The plan as it is written.
    pub document: PlanDocument,
}

impl Inputs {
    /// Reads an order folder and those of the orders beside it; the kitchen is that of the first.
    ///
    /// # Errors
    /// A folder or file is missing or refused.
    pub fn read(folder: &Path, beside: &[PathBuf]) -> Result<Self, Failure> {
        let folders = std::iter::once(folder.to_path_buf()).chain(beside.iter().cloned());
        let folders = folders
            .map(|path| Ok((read_order_folder(&path)?, path)))
            .collect::<Result<Vec<_>, Failure>>()?;
        Self::from_folders(&folders)
    }

    /// Reads order folders that are already in memory, each with the path to name in messages.
    ///
    /// # Errors
    /// A file is refused.
    pub fn from_folders(folders: &[(OrderFolder, PathBuf)]) -> Result<Self, Failure> {
        let kitchen = match folders.first() {
            Some((OrderFolder { kitchen: Some(text), .. }, folder)) => read_kitchen(text)
                .map_err(|source| Failure::File { folder: folder.clone(), source })?,
            _ => start_kitchen(),
        };
        let fonts = fonts::fonts();
        let briefs = folders
            .iter()
            .map(|(files, path)| brief(files, path, &fonts))
            .collect::<Result<_, _>>()?;
        let sha256 = match folders {
            [(only, _)] => only.sha256(),
            // Other open orders move the days, so they are part of what the plan was made from.
            _ => OrderFolder {
                order: folders.iter().map(|(folder, _)| folder.sha256()).collect(),
                ..OrderFolder::default()
            }
            .sha256(),
        };
        Ok(Self { kitchen, briefs, sha256 })
    }

    /// Refuses hand-overs that lie before `basis.today`, then plans the order at hand among the others.
    ///
    /// # Errors
    /// A hand-over lies in the past.
    pub fn plan(
        self,
        folder: &Path,
        basis: &Basis,
        on_progress: &mut dyn FnMut(News) -> ControlFlow<()>,
    ) -> Result<Planned, Failure> {
        for brief in &self.briefs {
            check_today(&brief.order, basis.today)
                .map_err(|source| Failure::Past { folder: folder.to_path_buf(), source })?;
        }
        let Self { kitchen, briefs, sha256 } = self;
        let plans: Vec<OrderPlan> =
            briefs.iter().map(|brief| plan_order(&kitchen, brief, basis, on_progress)).collect();
        let (days, days_heads_ups) = plan_week(
            &kitchen,
            &plans.iter().map(|plan| plan.work.clone()).collect::<Vec<_>>(),
            basis,
            on_progress,
        );
        let titles: Vec<String> = briefs.iter().map(|brief| brief.order.title.clone()).collect();
        let (brief, plan) =
            briefs.into_iter().zip(plans).next().expect("there is always the order at hand");
        let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
        let week = write_week(&titles, &days, &days_heads_ups, basis.today);
        let written = Written {
            kitchen: &kitchen,
            order: &brief.order,
            plan: &plan,
            basis,
            inputs_sha256: &sha256,
        };
        let document = write_plan(&written).with_week(&week, 0);
        let beside = week.orders.into_iter().skip(1).collect();
        Ok(Planned { kitchen, brief, plan, days, days_heads_ups, beside, basis: *basis, document })
    }
}

fn brief(files: &OrderFolder, folder: &Path, fonts: &drawing::Fonts) -> Result<Brief, Failure> {
    let refused = |source| Failure::File { folder: folder.to_path_buf(), source };
    let order = read_order(&files.order).map_err(refused)?;
    let mut designs = DesignFiles::default();
    let wanted = order.designs();
    for (name, bytes) in &files.drawings {
        match drawing::import(bytes, fonts) {
            Ok(artwork) => drop(designs.artworks.insert(name.clone(), artwork)),
            Err(source) if wanted.contains(&name.as_str()) => {
                let folder = folder.to_path_buf();
                return Err(Failure::Drawing { folder, design: name.clone(), source });
            }
            // A drawing that no item needs may be as it is.
            Err(_) => {}
        }
    }
    for (name, text) in &files.choices {
        let choices = read_choices(text, &format!("designs/{name}.toml")).map_err(refused)?;
        designs.choices.insert(name.clone(), choices);
    }
    read_brief(order, &designs)
        .map_err(|source| Failure::Brief { folder: folder.to_path_buf(), source })
}

/// Resolution of the picture of the set: sharp on paper and screen, a few hundred kilobytes.
const PIXELS_PER_MM: f64 = 6.0;

impl Planned {
    /// Makes the files of the plan folder.
    ///
    /// # Errors
    /// A picture could not be made.
    pub fn files(&self) -> Result<Vec<File>, Failure> {
        let plan_json = serde_json::to_string_pretty(&self.document)?;
        let (plan, units) = (&self.document, &self.kitchen.units);
        let set = papers::picture::set_picture(plan, units.measures);
        let png = papers::picture::to_png(&set, PIXELS_PER_MM, fonts::FONTS)?;
        let sheets = papers::picture::sheets_picture(plan, self.kitchen.dough.thickness);
        Ok(vec![
            File::new("plan.json", plan_json + "\n"),
            File::new("set.svg", set),
            File::new("set.png", png),
            File::new("pictures/sheets.svg", sheets),
            File::new("pictures/trays.svg", papers::picture::trays_picture(plan)),
            File::new("pictures/bowls.svg", papers::picture::bowls_picture(plan)),
            File::new("pictures/passes.svg", papers::picture::passes_strip(plan)),
            File::new("packet.pdf", papers::packet::packet(plan, &self.kitchen, units.paper)?),
            File::new("calendar.ics", papers::calendar::calendar(plan)),
            File::new(
                "shopping.csv",
                papers::shopping::shopping_csv(&plan.shopping, units.currency),
            ),
        ])
    }
}
