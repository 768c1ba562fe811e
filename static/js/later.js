/**
 * What a page needs only once it has lain open for a while comes then, so that a first view is light:
 * the script that keeps it up to date.
 */
const lying = /** @type {HTMLElement | null} */ (document.querySelector("[data-refreshes]"));
const keeper = lying?.dataset.refreshes;
if (keeper) setTimeout(() => import(keeper), 5_000);
