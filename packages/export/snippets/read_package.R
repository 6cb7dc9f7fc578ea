# Reads an unpacked Duskline package with base R and answers five questions about it.
#
#   Rscript read_package.R FOLDER [METRIC] [SITE]

arguments <- commandArgs(trailingOnly = TRUE)
folder <- if (length(arguments) > 0) arguments[1] else "."

# Only an empty cell is missing: a site may be called NA.
read <- function(path, ...) {
  read.csv(path, na.strings = "", encoding = "UTF-8", stringsAsFactors = FALSE, ...)
}
utc <- function(text) as.POSIXct(sub("Z$", "", text), format = "%Y-%m-%dT%H:%M:%OS", tz = "UTC")

files <- sort(list.files(folder, "^observations(_[0-9]+)?\\.csv$", full.names = TRUE))
observations <- do.call(rbind, lapply(files, read, colClasses = c(
  site_id = "character", node_id = "character", metric = "character", value = "numeric",
  part_id = "character", qc_tests_failed = "character"
)))
observations$observed_at <- utc(observations$observed_at)
observations$received_at <- utc(observations$received_at)
metrics <- read(file.path(folder, "metrics.csv"))
sites <- read(file.path(folder, "sites.csv"))
parts <- read(file.path(folder, "parts.csv"))
gaps <- read(file.path(folder, "gaps.csv"))

metric <- if (length(arguments) > 1) arguments[2] else observations$metric[1]
site <- if (length(arguments) > 2) arguments[3] else observations$site_id[1]
here <- sites[sites$site_id == site, ]
silent <- gaps[gaps$site_id == site, ]
silent <- silent[order(-silent$duration), ]
changed <- parts[parts$site_id == site & !is.na(parts$removed_at), ]

say <- function(name, value) cat(name, "=", format(value, digits = 15, scientific = FALSE), "\n", sep = "")
say("rows", nrow(observations))
say("value_type", class(observations$value))
say("time_type", class(observations$observed_at)[1])
say("sum", round(sum(observations$value), 6))
passed <- observations[observations$metric == metric & observations$qc_flag <= 2, ]
say("mean_of_metric", round(mean(passed$value), 6))
# 1 What unit is this?
cat("unit=", metrics$unit[metrics$metric == metric], "\n", sep = "")
# 2 What time zone?
say("time_zone_of_times", attr(observations$observed_at, "tzone"))
say("time_zone_of_site", here$time_zone)
# 3 Why is it empty there? (the longest gap)
if (nrow(silent) > 0) {
  say("gap_from", silent$from[1])
  say("gap_to", silent$to[1])
  say("gap_cause", silent$cause[1])
}
# 4 Was a sensor changed?
say("parts_changed", nrow(changed))
# 5 May I publish the position?
say("position_blur_m", here$position_blur)
